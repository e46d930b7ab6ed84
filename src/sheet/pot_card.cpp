#include "sheet/pot_card.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "calibrate/calibration.hpp"
#include "sheet/figures.hpp"
#include "sheet/mix_words.hpp"
#include "sheet/page_parts.hpp"
#include "sheet/words.hpp"

namespace sw {
namespace {

constexpr double kPatchHeight = 120;
constexpr const char* kRecipeCaution =
    "Spray only with extraction or outdoors, with a respirator fit for the solvent in use; read each paint's safety data sheet; dispose of paint and "
    "thinner by local rules. Never mix unlike binders (acrylic, lacquer, enamel) on this sheet's word: test first. Wet paint and unglossed paint are "
    "not the dry, glossed color. Drops differ from bottle to bottle: make a test piece, let it dry, and hold it against the chip.";

TargetWords words_of(const Lab& lab) {
    Target shown;
    shown.lab = lab;
    return target_words(shown);
}

const KeptPotReading* last_dry(const PotSheet& sheet) {
    const auto found =
        std::find_if(sheet.readings.rbegin(), sheet.readings.rend(), [](const KeptPotReading& one) { return !one.wet && !one.set_aside; });
    return found == sheet.readings.rend() ? nullptr : &*found;
}

std::string lab_line(const Lab& lab, const Eigen::Matrix3d& covariance) {
    const auto sd = lab_sd(covariance);
    return "L* " + measured(lab.L, sd[0]) + "   a* " + measured(lab.a, sd[1]) + "   b* " + measured(lab.b, sd[2]);
}

/// Rows of texts; the first column set left, the others right at their places. Returns the bottom.
double draw_rows(Pen& pen, const PageBox& box, const std::vector<std::vector<std::string>>& rows, const std::vector<double>& right_ends) {
    double y = box.y;
    for (std::size_t r = 0; r < rows.size(); ++r) {
        const Writing how = r == 0 ? Writing{.size = 8, .ink = kPaleInk} : Writing{.size = 10};
        for (std::size_t c = 0; c < rows[r].size(); ++c) {
            if (c == 0) {
                Writing first = how;
                first.width = right_ends[0];
                pen.write(box.x, y, rows[r][c], first);
            } else {
                pen.write(box.x + right_ends[c] - pen.measure(rows[r][c], how).width, y, rows[r][c], how);
            }
        }
        y += r == 0 ? 13 : 16;
        pen.line(box.x, y - 2, box.right(), y - 2, r == 0 ? kInk : kGridInk, r == 0 ? 0.75 : 0.5);
        y += 2;
    }
    return y;
}

double draw_pair(Pen& pen, const PageBox& around, const PotSheet& sheet, const KeptPotReading* read) {
    pen.fill(around, kSurround);
    constexpr double kRim = 16;
    const double width = around.width - 2 * kRim, height = around.height - 2 * kRim;
    const bool both = sheet.target && read != nullptr;
    if (sheet.target) draw_patch(pen, {around.x + kRim, around.y + kRim, both ? width / 2 : width, height}, words_of(*sheet.target));
    if (read != nullptr)
        draw_patch(pen, {around.x + kRim + (both ? width / 2 : 0), around.y + kRim, both ? width / 2 : width, height}, words_of(read->lab));
    const Writing small{.size = 8, .ink = kPaleInk};
    const double y = around.bottom() + 5;
    pen.write(around.x, y,
              both              ? "Left the target, right the test piece."
              : sheet.target    ? "The target."
              : read != nullptr ? "The test piece."
                                : "",
              small);
    pen.write(around.right() - pen.measure(kPrintNote, small).width, y, kPrintNote, small);
    return y + 14;
}

void draw_card(Pen& pen, const Paper& paper, const PotSheet& sheet, const MixBook& book) {
    const double left = kSheetMargin, width = paper.width - 2 * kSheetMargin;
    const KeptPotReading* read = last_dry(sheet);
    double y = draw_page_head(pen, paper, "Recipe", minute_words(sheet.pot.created));
    const Writing name = fitted_writing(pen, sheet.pot.name, {.bold = true}, {left, y, width, 60}, {24, 20, 16, 13, 10});
    y += pen.write(left, y, sheet.pot.name, name) + 2;
    const std::string goal = sheet.to_become.empty() ? "no target said" : "to become " + sheet.to_become;
    y +=
        pen.write(left, y, goal + (sheet.pot.note.empty() ? "" : " · " + sheet.pot.note), {.size = 11, .ink = kPaleInk, .width = width, .lines = 2}) +
        10;
    if (sheet.target || read != nullptr) y = draw_pair(pen, {left, y, width, kPatchHeight}, sheet, read) + 8;

    const Writing strong{.size = 12, .bold = true, .width = width, .lines = 2}, plain{.size = 9, .ink = kPaleInk, .width = width, .lines = 3};
    if (read != nullptr) {
        y += pen.write(left, y,
                       (read->de00 ? "Off the target by " + verdict_words(*read) : "The test piece was not judged: no target to hold it against") +
                           (read->de00 ? "  (ΔE00 under " + read->light + ")" : ""),
                       strong) +
             3;
        const std::string laid = laid_words(*read);
        y += pen.write(left, y,
                       "The test piece reads " + lab_line(read->lab, read->lab_covariance) + " under " + read->light + ", dry, " +
                           (laid.empty() ? "no clear coat, hiding" : laid) + ".",
                       plain) +
             8;
        if (const auto last = last_put_in(sheet.additions); last && *last != read->addition)
            y += pen.write(left, y, "More went in since: the mix as it is now was not read.", strong) + 8;
    } else {
        y += pen.write(left, y, "No dry test piece was read: the color is not known but by reckoning.", strong) + 8;
    }

    std::vector<std::vector<std::string>> rows{{"The recipe", "drops", "ml", "parts of 100"}};
    for (const PotSheet::Line& line : sheet.lines)
        rows.push_back(
            {line.paint, fixed(line.drops, std::abs(line.drops - std::round(line.drops)) < 0.05 ? 0 : 1), fixed(line.ml, 2), fixed(line.parts, 1)});
    rows.push_back({"Together", "", fixed(sheet.ml, 2), "100"});
    y = draw_rows(pen, {left, y, width, 0}, rows, {width - 220, width - 150, width - 75, width}) + 2;
    std::vector<std::string> drops;
    for (const PotSheet::Line& line : sheet.lines) {
        const std::string words = fixed(line.drop_ml, 3) + " ml ± " + percent(line.drop_cv);
        if (std::find(drops.begin(), drops.end(), words) == drops.end()) drops.push_back(words);
    }
    y += pen.write(left, y, "As counted; a drop is " + listed(drops) + " (one standard deviation, of what one addition brings).", plain) + 8;
    if (sheet.unknown) y += pen.write(left, y, "Something that nobody counted is in it besides: this is no recipe to go by.", strong) + 8;
    if (!sheet.unlike.empty()) y += pen.write(left, y, "Caution: " + sheet.unlike + ".", strong) + 8;

    if (!sheet.lights.empty()) {
        std::vector<std::vector<std::string>> lights{{"Under each light, by reckoning", "ΔE00", "95 % range", "chance within"}};
        for (const auto& one : sheet.lights)
            lights.push_back({one.light + (one.inferred ? ", inferred" : ""), fixed(one.expected.de00, 1), range(one.expected.low, one.expected.high),
                              percent(one.expected.chance_within)});
        y = draw_rows(pen, {left, y, width, 0}, lights, {width - 220, width - 150, width - 75, width}) + 8;
    }

    const double foot = draw_page_foot(pen, paper, kRecipeCaution, "Swatchwright");
    std::vector<std::array<std::string, 3>> log;
    for (const KeptAddition& one : sheet.additions) {
        log.push_back({std::to_string(one.number) + ".", minute_words(one.created),
                       addition_words(one, book) + (one.note.empty() ? "" : " (" + one.note + ")")});
        for (const KeptPotReading& reading : sheet.readings) {
            if (reading.addition == one.id)
                log.push_back(
                    {"", minute_words(reading.created), "read " + lab_line(reading.lab, reading.lab_covariance) + ": " + verdict_words(reading)});
        }
    }
    pen.write(left, y, "How it came about", {.size = 8, .ink = kPaleInk});
    y += 13;
    pen.line(left, y - 2, left + width, y - 2, kInk, 0.75);
    constexpr double kRow = 11.5;
    const auto room = static_cast<std::size_t>(std::max(1.0, std::floor((foot - y - 4) / kRow)));
    const bool all = log.size() <= room;
    for (std::size_t i = 0; i < (all ? log.size() : room - 1); ++i, y += kRow) {
        pen.write(left, y, log[i][0], {.size = 8, .ink = kPaleInk});
        pen.write(left + 20, y, log[i][1], {.size = 8, .ink = kPaleInk});
        pen.write(left + 110, y, log[i][2], {.size = 8, .width = width - 110});
    }
    if (!all)
        pen.write(left + 110, y, std::to_string(log.size() - room + 1) + " more: swatchwright mix log \"" + sheet.pot.name + "\"",
                  {.size = 8, .width = width - 110});
}

}  // namespace

Result<PotSheet> pot_sheet(const MixBook& book, const KeptPot& pot) {
    const PotContent content = content_of(book, pot.id);
    if (content.paints.empty())
        return Error{Fault::name_unknown, "", "pot \"" + pot.name + "\"", "nothing that is known is in it, so there is no recipe to draw",
                     "say what went in: swatchwright mix add"};
    PotSheet sheet;
    sheet.pot = pot;
    sheet.ml = content.ml;
    sheet.unknown = content.unknown != 0 || content.lost;
    std::vector<std::int64_t> ids;
    for (const auto& [id, ml] : content.paints) {
        const KeptPaint* paint = book.paint(id);
        const double drop = paint == nullptr ? Drop{}.ml : paint->drop_ml.value_or(Drop{}.ml);
        sheet.lines.push_back({paint == nullptr ? "?" : paint->name, ml / drop, drop,
                               paint == nullptr ? Drop{}.cv : paint->drop_cv.value_or(Drop{}.cv), ml, 100 * ml / content.ml});
        ids.push_back(id);
    }
    std::stable_sort(sheet.lines.begin(), sheet.lines.end(), [](const auto& a, const auto& b) { return a.ml > b.ml; });
    sheet.additions = additions_of(book.additions, pot.id);
    for (const KeptPotReading& reading : book.readings) {
        if (reading.pot == pot.id) sheet.readings.push_back(reading);
    }
    sheet.unlike = unlike_words(book, ids);
    const Target* target = pot.target ? book.target(*pot.target) : nullptr;
    const KeptPot* like = pot.batch_of ? book.pot(*pot.batch_of) : nullptr;
    if (target != nullptr) {
        sheet.to_become = "\"" + target->name + "\"";
        sheet.target = target->lab;
    } else if (like != nullptr) {
        sheet.to_become = "like pot \"" + like->name + "\"";
    }
    const auto reckoned = [&]() -> Result<Done> {
        const auto learned = learned_shelf(book, pot.id);
        if (!learned) return learned.error();
        const auto lights = lights_of(book, pot);
        if (!lights) return lights.error();
        const auto goal = goal_of(book, pot, *lights, &*learned);
        if (!goal) return goal.error();
        const int place = learned->place_of_pot(pot.id);
        if (place < 0) return Error{Fault::bad_usage, "", "", "nothing that is known is in it", ""};
        const auto expected = pot_under(*learned, place, *goal, tolerance_of(pot));
        for (std::size_t i = 0; i < expected.size(); ++i) sheet.lights.push_back({goal->lights[i].light.name, goal->lights[i].inferred, expected[i]});
        return Done{};
    }();
    if (!reckoned) sheet.no_lights = reckoned.error().cause;
    return sheet;
}

Result<Sheet> pot_card(const PotSheet& sheet, const MixBook& book, const Paper& paper, const std::string& path) {
    auto files = draw_pages(path, sheet.pot.name, paper, 1, [&](Pen& pen, std::size_t) { draw_card(pen, paper, sheet, book); });
    if (!files) return files.error();
    return Sheet{*std::move(files), 1, 0};
}

}  // namespace sw
