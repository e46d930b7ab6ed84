#include "viewer/widgets.hpp"

#include <imgui.h>

#include <algorithm>

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
    edited.entered = ImGui::InputTextWithHint(label.c_str(), hint, text.data(), text.capacity() + 1,
                                              ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_CallbackResize | ImGuiInputTextFlags_AutoSelectAll, resize, &text);
    edited.left = edited.entered || ImGui::IsItemDeactivatedAfterEdit();
    return edited;
}

float button_width(const std::string& label) { return ImGui::CalcTextSize(label.c_str()).x + 2 * ImGui::GetStyle().FramePadding.x; }

bool button(const Look& look, const std::string& label, bool chosen, float width, bool enabled) {
    int pushed = 0;
    if (chosen) {
        ImGui::PushStyleColor(ImGuiCol_Button, tone(gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_ButtonHovered, tone(gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_ButtonActive, tone(gray::chosen));
        ImGui::PushStyleColor(ImGuiCol_Text, tone(gray::chosen_text));
        pushed = 4;
    }
    if (!enabled) {  // stays readable: what cannot be pressed loses its frame, not its contrast
        ImGui::PushStyleColor(ImGuiCol_Button, tone(gray::ground));
        ImGui::PushStyleColor(ImGuiCol_ButtonHovered, tone(gray::ground));
        ImGui::PushStyleColor(ImGuiCol_ButtonActive, tone(gray::ground));
        ImGui::PushStyleColor(ImGuiCol_Text, tone(gray::quiet));
        pushed += 4;
    }
    const bool pressed = ImGui::Button(label.c_str(), {width, look.px(33)});
    ImGui::PopStyleColor(pushed);
    return pressed && enabled;
}

void same_line_if_fits(float width) {
    const float right = ImGui::GetWindowPos().x + ImGui::GetWindowContentRegionMax().x;
    if (ImGui::GetItemRectMax().x + ImGui::GetStyle().ItemSpacing.x + width <= right) ImGui::SameLine();
}

void text(const std::string& words) {
    ImGui::PushTextWrapPos(0);
    ImGui::TextUnformatted(words.data(), words.data() + words.size());
    ImGui::PopTextWrapPos();
}

void quiet(const std::string& words) {
    ImGui::PushStyleColor(ImGuiCol_Text, tone(gray::quiet));
    text(words);
    ImGui::PopStyleColor();
}

std::optional<std::string> choice_button(const Look& look, const char* id, const std::vector<std::string>& choices, const std::string& note) {
    std::optional<std::string> chosen;
    ImGui::PushID(id);
    if (ImGui::Button("…", {look.px(36), look.px(33)})) ImGui::OpenPopup("choices");
    ImGui::SetNextWindowSizeConstraints({look.px(200), 0}, {look.px(380), look.px(440)});
    if (ImGui::BeginPopup("choices")) {
        if (!note.empty()) {
            ImGui::PushTextWrapPos(look.px(340));
            ImGui::TextUnformatted(note.c_str());
            ImGui::PopTextWrapPos();
            ImGui::Separator();
        }
        for (const std::string& choice : choices) {
            if (ImGui::Selectable(choice.c_str(), false, 0, {0, look.px(26)})) chosen = choice;
        }
        ImGui::EndPopup();
    }
    ImGui::PopID();
    return chosen;
}

void begin_panel(const char* name, const Rect& rect, int extra_flags, int ground) {
    ImGui::SetNextWindowPos({rect.x, rect.y});
    ImGui::SetNextWindowSize({std::max(rect.w, 32.0F), std::max(rect.h, 32.0F)});
    ImGui::PushStyleColor(ImGuiCol_WindowBg, tone(ground));
    ImGui::Begin(name, nullptr,
                 ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_NoSavedSettings |
                     ImGuiWindowFlags_NoBringToFrontOnFocus | extra_flags);
    ImGui::PopStyleColor();
}

void haloed_text(const Look& look, float x, float y, const std::string& words) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    const ImVec2 size = ImGui::CalcTextSize(words.c_str());
    const float pad = look.px(4);
    list->AddRectFilled({x - pad, y - look.px(1)}, {x + size.x + pad, y + size.y + look.px(1)}, tone(0x10, 220), look.px(2));
    list->AddText({x, y}, tone(gray::text), words.c_str());
}

}  // namespace sw::window
