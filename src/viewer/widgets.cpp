#include "viewer/widgets.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "sheet/screen.hpp"

namespace sw::window {
namespace {

int resize(ImGuiInputTextCallbackData* data) {
    if (data->EventFlag == ImGuiInputTextFlags_CallbackResize) {
        auto* text = static_cast<std::string*>(data->UserData);
        text->resize(static_cast<std::size_t>(data->BufTextLen));
        data->Buf = text->data();
    }
    return 0;
}

}  // namespace

Edited text_field(const char* id, std::string& text, const char* hint, float width, View& view) {
    ImGui::SetNextItemWidth(width > 0 ? width : ImGui::GetContentRegionAvail().x);
    if (view.focus == id) {
        ImGui::SetKeyboardFocusHere();
        view.focus.clear();
    }
    Edited edited;
    const std::string label = std::string("##") + id;
    edited.entered = ImGui::InputTextWithHint(
        label.c_str(), hint, text.data(), text.capacity() + 1,
        ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_CallbackResize | ImGuiInputTextFlags_AutoSelectAll, resize, &text);
    edited.left = edited.entered || ImGui::IsItemDeactivatedAfterEdit();
    return edited;
}

float button_width(const std::string& label) { return ImGui::CalcTextSize(label.c_str(), nullptr, true).x + 2 * ImGui::GetStyle().FramePadding.x; }

bool button(const Look& look, const std::string& full, bool chosen, float width, bool enabled) {
    std::string label = full;
    if (const float room = ImGui::GetContentRegionAvail().x; width == 0 && button_width(label) > room) {
        const std::size_t key = full.find("  "), id = full.find("##");  // its key stands in the help too
        label = full.substr(0, std::min(key, id));
        label = fitting(label, room - 2 * ImGui::GetStyle().FramePadding.x) + (id == std::string::npos ? "##" + full : full.substr(id));
    }
    int pushed = 0;
    if (chosen) {
        ImGui::PushStyleColor(ImGuiCol_Button, tone(Gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_ButtonHovered, tone(Gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_ButtonActive, tone(Gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::chosen_text));
        pushed = 4;
    }
    if (!enabled) {  // stays readable: what cannot be pressed loses its frame, not its contrast
        ImGui::PushStyleColor(ImGuiCol_Button, tone(Gray::ground));
        ImGui::PushStyleColor(ImGuiCol_ButtonHovered, tone(Gray::ground));
        ImGui::PushStyleColor(ImGuiCol_ButtonActive, tone(Gray::ground));
        ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
        pushed += 4;
    }
    const bool pressed = ImGui::Button(label.c_str(), {width, look.px(33)});
    ImGui::PopStyleColor(pushed);
    return pressed && enabled;
}

bool field_with_button(const Look& look, const char* id, std::string& text, const char* hint, const std::string& label, View& view, bool enabled) {
    const float width = ImGui::GetContentRegionAvail().x - button_width(label) - ImGui::GetStyle().ItemSpacing.x;
    const Edited field = text_field(id, text, hint, width, view);
    ImGui::SameLine();
    return button(look, label, false, 0, enabled) || field.entered;
}

void label(const std::string& words) {
    const float room = ImGui::GetContentRegionAvail().x;
    ImGui::AlignTextToFramePadding();
    ImGui::TextUnformatted(fitting(words, room).c_str());
}

void same_line_if_fits(float width) {
    const float right = ImGui::GetWindowPos().x + ImGui::GetWindowContentRegionMax().x;
    if (ImGui::GetItemRectMax().x + ImGui::GetStyle().ItemSpacing.x + width <= right) ImGui::SameLine();
}

std::string wrapped(const std::string& words, float width) {
    const auto wide = [](const std::string& part) { return ImGui::CalcTextSize(part.c_str()).x; };
    std::string result, line;
    const auto end_line = [&] {
        result += (result.empty() ? "" : "\n") + line;
        line.clear();
    };
    std::size_t at = 0;
    while (at < words.size()) {
        const std::size_t end = std::min(words.find_first_of(" \n", at), words.size());
        std::string word = words.substr(at, end - at);
        if (!line.empty() && wide(line + " " + word) > width) end_line();
        while (line.empty() && word.size() > 1 && wide(word) > width) {  // too long by itself: as many whole characters as fit
            std::size_t cut = 1;
            for (std::size_t next = 1; next <= word.size() && wide(word.substr(0, next)) <= width; ++next) {
                if (next == word.size() || (static_cast<unsigned char>(word[next]) & 0xC0U) != 0x80U) cut = next;
            }
            line = word.substr(0, cut);
            end_line();
            word.erase(0, cut);
        }
        line += (line.empty() ? "" : " ") + word;
        if (end < words.size() && words[end] == '\n') end_line();
        at = end + 1;
    }
    if (!line.empty()) end_line();
    return result;
}

std::string fitting(const std::string& words, float width) {
    const auto wide = [](const std::string& part) { return ImGui::CalcTextSize(part.c_str()).x; };
    if (wide(words) <= width) return words;
    std::string start = words;
    const auto within_character = [&] { return !start.empty() && (static_cast<unsigned char>(start.back()) & 0xC0U) == 0x80U; };
    while (!start.empty() && wide(start + "…") > width) {
        while (within_character()) start.pop_back();
        start.pop_back();
    }
    return start + "…";
}

void text(const std::string& words) {
    const std::string lines = wrapped(words, ImGui::GetContentRegionAvail().x);
    ImGui::TextUnformatted(lines.data(), lines.data() + lines.size());
}

float draw_wrapped(ImFont* font, float x, float y, float width, unsigned color, const std::string& words) {
    ImGui::PushFont(font);
    const std::string lines = wrapped(words, width);
    const float height = ImGui::CalcTextSize(lines.c_str()).y;
    ImGui::GetWindowDrawList()->AddText({x, y}, color, lines.c_str());
    ImGui::PopFont();
    return height;
}

float wrapped_height(const std::string& words, float width) { return ImGui::CalcTextSize(wrapped(words, width).c_str()).y; }

void quiet(const std::string& words) {
    ImGui::PushStyleColor(ImGuiCol_Text, tone(Gray::quiet));
    text(words);
    ImGui::PopStyleColor();
}

std::optional<std::string> choice_button(const Look& look, const char* id, const std::vector<std::string>& choices, const std::string& note,
                                         const std::string& label) {
    std::optional<std::string> chosen;
    ImGui::PushID(id);
    if (label.empty() ? ImGui::Button("…", {look.px(36), look.px(33)}) : button(look, label + " …")) ImGui::OpenPopup("choices");
    ImGui::SetNextWindowSizeConstraints({look.px(200), 0}, {look.px(380), look.px(440)});
    if (ImGui::BeginPopup("choices")) {
        if (!note.empty()) {
            ImGui::TextUnformatted(wrapped(note, look.px(340)).c_str());
            ImGui::Separator();
        }
        for (const std::string& choice : choices) {
            const std::string shown = fitting(choice, look.px(700)) + "##" + choice;
            if (ImGui::Selectable(shown.c_str(), false, 0, {0, look.px(26)})) chosen = choice;
        }
        ImGui::EndPopup();
    }
    ImGui::PopID();
    return chosen;
}

void begin_panel(const char* name, const Rect& rect, int extra_flags, Gray ground) {
    ImGui::SetNextWindowPos({rect.x, rect.y});
    ImGui::SetNextWindowSize({std::max(rect.w, 32.0F), std::max(rect.h, 32.0F)});
    ImGui::PushStyleColor(ImGuiCol_WindowBg, tone(ground));
    ImGui::Begin(name, nullptr,
                 ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse |
                     ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoFocusOnAppearing | extra_flags);
    ImGui::PopStyleColor();
}

unsigned screen_tone(const Lab& color, bool& in_gamut) {
    const Screen::Shown shown = Screen().show(color);
    in_gamut = in_gamut && shown.in_gamut;
    const auto byte = [](double v) { return static_cast<int>(std::lround(std::clamp(v, 0.0, 1.0) * 255)); };
    return IM_COL32(byte(shown.rgb.r), byte(shown.rgb.g), byte(shown.rgb.b), 255);
}

void haloed_text(const Look& look, float x, float y, const std::string& words) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    const ImVec2 size = ImGui::CalcTextSize(words.c_str());
    const float pad = look.px(4);
    list->AddRectFilled({x - pad, y - look.px(1)}, {x + size.x + pad, y + size.y + look.px(1)}, tone(0x10, 220), look.px(2));
    list->AddText({x, y}, tone(0xF0), words.c_str());
}

}  // namespace sw::window
