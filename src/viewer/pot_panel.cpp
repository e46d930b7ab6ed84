// A pot: what to add next on top, the way to the target, large counters to be pressed with a knuckle, what is in it.
#include "viewer/pot_panel.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "sheet/pair_words.hpp"
#include "viewer/book_parts.hpp"
#include "viewer/widgets.hpp"

namespace sw::window {
namespace {

/// Target and the last test piece edge to edge; the target alone where there is none.
void pair_patch(const Scene& scene, const Target* target, const KeptPotReading* last) {
    const Look& look = scene.look;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(96), rim = look.px(12), line = ImGui::GetTextLineHeight();
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled(at, {at.x + width, at.y + height + line}, tone(gray::surround));
    bool in_gamut = true;
    const float middle = last != nullptr && target != nullptr ? std::floor(at.x + width / 2) : at.x + width - rim;
    const auto put = [&](float from, float to, const Lab& color, const char* name) {
        list->AddRectFilled({from, at.y + rim}, {to, at.y + height}, screen_tone(color, in_gamut));
        list->AddText({from, at.y + height}, tone(gray::surround_text), name);
    };
    if (target != nullptr) put(at.x + rim, middle, target->lab, "target");
    if (last != nullptr) put(target != nullptr ? middle : at.x + rim, at.x + width - rim, last->lab, "last test piece");
    ImGui::Dummy({width, height + line});
    if (!in_gamut) quiet("Beyond this screen's colors: shown is the nearest.");
}

void offers(const Scene& scene, Outbox& out, const KeptPot& pot, const PotAdvice& advice) {
    const Look& look = scene.look;
    ImGui::PushFont(look.medium);
    text(advice.headline);
    ImGui::PopFont();
    if (!advice.now.empty()) quiet("As it is: " + advice.now);
    for (std::size_t i = 0; i < advice.offers.size(); ++i) {
        const PotOffer& offer = advice.offers[i];
        ImGui::PushID(static_cast<int>(i));
        const std::string words =
            "expect ΔE00 " + offer.expect + ", within tolerance " + offer.chance + (offer.after.empty() ? "" : ", then " + offer.after);
        if (advice.headline.find(offer.words) == std::string::npos) text(offer.words);
        if (button(look, advice.now.empty() ? "I did so" : "I added it")) out.commit(AddDrops{pot.name, offer.drops});
        same_line_if_fits(ImGui::CalcTextSize(words.c_str()).x);
        quiet(words);
        ImGui::PopID();
    }
    for (const std::string& note : advice.notes) quiet(note);
}

/// One paint a row: its name, what is in the pot of it, and drops to be pressed.
void counters(const Scene& scene, Outbox& out, const MixBook& book, const KeptPot& pot) {
    const Look& look = scene.look;
    const PotContent content = content_of(book, pot.id);
    quiet("Press for each drop that goes in:");
    const float large = look.px(48), gap = ImGui::GetStyle().ItemSpacing.x;
    for (const KeptPaint& paint : book.paints) {
        if (!paint.on_shelf) continue;
        double ml = 0;
        for (const auto& [id, in_it] : content.paints) ml += id == paint.id ? in_it : 0;
        ImGui::PushID(static_cast<int>(paint.id));
        const float width = ImGui::GetContentRegionAvail().x - 2 * large - 2 * gap;
        const std::string label = fitting(paint.name, width - look.px(20)) + "##one";
        if (ImGui::Button(label.c_str(), {width, large})) out.commit(AddDrops{pot.name, {{paint.name, 1}}});
        ImGui::SameLine();
        const std::string count = ml > 0 ? shortest(std::round(10 * ml / paint.drop_ml.value_or(Drop{}.ml)) / 10) : "–";
        const ImVec2 at = ImGui::GetCursorScreenPos(), size = ImGui::CalcTextSize(count.c_str());
        ImGui::GetWindowDrawList()->AddText({at.x + (large - size.x) / 2, at.y + (large - size.y) / 2}, tone(Gray::text), count.c_str());
        ImGui::Dummy({large, large});
        ImGui::SameLine();
        if (ImGui::Button("+5", {large, large})) out.commit(AddDrops{pot.name, {{paint.name, 5}}});
        ImGui::PopID();
    }
    quiet("Counts are of drops as they were pressed, ± 5 % of a drop's size where nothing else was said. Ctrl+Z takes the last one back.");
}

void history_of(const MixBook& book, const KeptPot& pot) {
    const auto all = additions_of(book.additions, pot.id);
    for (auto one = all.rbegin(); one != all.rend(); ++one) {
        const KeptPaint* paint = one->paint ? book.paint(*one->paint) : nullptr;
        const std::string what = one->kind == AdditionKind::taken ? "some of the mix, taken out"
                                 : paint != nullptr               ? paint->name
                                                                  : "something unknown";
        for (const KeptPotReading& reading : book.readings) {
            if (reading.pot != pot.id || reading.addition != one->id) continue;
            const auto sd = lab_sd(reading.lab_covariance);
            text("   read: L* " + one_decimal(reading.lab.L) + " " + plus_minus(sd[0]) + ", a* " + one_decimal(reading.lab.a) + " " +
                 plus_minus(sd[1]) + ", b* " + one_decimal(reading.lab.b) + " " + plus_minus(sd[2]) + (reading.wet ? ", wet: not judged" : ""));
            if (reading.de00 && reading.ci_low && reading.ci_high)
                text("   ΔE00 " + figure_with_range(*reading.de00, {*reading.ci_low, *reading.ci_high}) + "  " + marked_verdict(reading.verdict));
        }
        quiet(std::to_string(one->number) + ". " + (one->amount ? shortest(*one->amount) + " " + one->unit + " " : "an unknown amount of ") + what);
    }
}

}  // namespace

void draw_pot(const Scene& scene, Outbox& out, const KeptPot& pot) {
    const Look& look = scene.look;
    const MixBook& book = *scene.shelf.mix;
    const Target* target = pot.target ? book.target(*pot.target) : nullptr;
    const KeptPot* like = pot.batch_of ? book.pot(*pot.batch_of) : nullptr;
    book_heading(scene, pot.name);
    quiet(target != nullptr ? "to become " + target->name : like != nullptr ? "to look like pot " + like->name : "to become nothing that was said");
    if (scene.advice != nullptr && scene.advice->error) {
        text("! " + first_capital(cause_of(*scene.advice->error)));
        quiet(first_capital(scene.advice->error->remedy));
    } else if (scene.advice != nullptr) {
        offers(scene, out, pot, *scene.advice);
    } else {
        quiet("What to add next is being worked out ...");
    }
    const auto judged = judged_readings(book, pot.id);
    const KeptPotReading* last = nullptr;
    for (const KeptPotReading& one : book.readings) {
        if (one.pot == pot.id && !one.wet) last = &one;
    }
    if (target != nullptr || last != nullptr) pair_patch(scene, target, last);
    std::vector<ApproachStep> steps;
    for (const KeptPotReading* one : judged) steps.push_back({*one->de00, *one->ci_low, *one->ci_high});
    approach_plot(scene, steps);
    const std::string content = content_words(book, pot.id);
    text(content.empty() ? "Nothing is in it yet." : "In it, as counted: " + content + ".");
    if (!content.empty()) {
        if (scene.results.swatch && scene.current) {
            if (button(look, "Read it from the swatch")) out.commit(ReadPot{pot.name});
            quiet("The swatch that is marked in the picture, dry and painted as the model will be.");
        } else {
            quiet("To read it: photograph a dry test piece, mark it as the swatch, come back here.");
        }
    }
    counters(scene, out, book, pot);
    history_of(book, pot);
    quiet(
        "Fresh air and, for solvents or spraying, a respirator that fits them; the paint's safety data sheet comes first. Waste goes where your town "
        "takes it.");
    if (button(look, "Remove  Delete")) out.commit(RemovePot{pot.name});
}

}  // namespace sw::window
