#include "viewer/look.hpp"

#include <fontconfig/fontconfig.h>
#include <imgui.h>

#include <array>
#include <cmath>

namespace sw::window {
namespace {

std::string font_file() {
    std::string path;
    FcConfig* config = FcInitLoadConfigAndFonts();
    if (config == nullptr) return path;
    FcPattern* wanted = FcNameParse(reinterpret_cast<const FcChar8*>("DejaVu Sans:style=Book:fontformat=TrueType"));
    FcConfigSubstitute(config, wanted, FcMatchPattern);
    FcDefaultSubstitute(wanted);
    FcResult result = FcResultNoMatch;
    if (FcPattern* found = FcFontMatch(config, wanted, &result)) {
        FcChar8* file = nullptr;
        if (FcPatternGetString(found, FC_FILE, 0, &file) == FcResultMatch) path = reinterpret_cast<const char*>(file);
        FcPatternDestroy(found);
    }
    FcPatternDestroy(wanted);
    FcConfigDestroy(config);
    return path;
}

ImVec4 tone_vec(int gray, float alpha = 1) {
    const float v = static_cast<float>(gray) / 255.0F;
    return {v, v, v, alpha};
}

/// Where ImGui's style keeps a gray of ours: entries for things that this program has none of, so that a pushed color never changes them.
ImGuiCol entry(Gray gray) {
    static constexpr std::array<ImGuiCol, 11> entries{ImGuiCol_Tab,       ImGuiCol_TabHovered,       ImGuiCol_TabActive, ImGuiCol_TabUnfocused,
                                                      ImGuiCol_PlotLines, ImGuiCol_PlotLinesHovered, ImGuiCol_TitleBg,   ImGuiCol_TitleBgActive,
                                                      ImGuiCol_MenuBarBg, ImGuiCol_PlotHistogram,    ImGuiCol_ResizeGrip};
    return entries[static_cast<std::size_t>(gray)];
}

}  // namespace

int code(Theme theme, Gray gray) {
    //                                        ground raised field button hovered active line  text  quiet chosen chosen_text
    static constexpr std::array<int, 11> dark{0x24, 0x2E, 0x18, 0x3A, 0x46, 0x4C, 0x70, 0xF0, 0xC4, 0xDC, 0x10},
        light{0xC8, 0xD4, 0xE4, 0xB6, 0xAA, 0xA2, 0x60, 0x0C, 0x30, 0x2C, 0xF4};
    return (theme == Theme::dark ? dark : light)[static_cast<std::size_t>(gray)];
}

unsigned tone(int gray, int alpha) { return IM_COL32(gray, gray, gray, alpha); }

unsigned tone(Gray gray, int alpha) {
    const ImVec4& color = ImGui::GetStyle().Colors[entry(gray)];
    return tone(static_cast<int>(std::lround(color.x * 255)), alpha);
}

Look make_look(float scale, float letter_gap) {
    Look look;
    look.scale = scale;
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    // Latin, Greek, Cyrillic (file names), dashes and quotes, super- and subscripts, arrows, signs, shapes, marks.
    static const std::array<ImWchar, 25> wide{0x20,   0x24F,  0x370,  0x3FF,  0x400,  0x45F,  0x2010, 0x2044, 0x2070, 0x209C, 0x2190, 0x21D5, 0x2200,
                                              0x2265, 0x2318, 0x2318, 0x25A0, 0x25EF, 0x2600, 0x2605, 0x26A0, 0x26A0, 0x2713, 0x2718, 0};
    static const std::array<ImWchar, 11> figures{0x20, 0x7E, 0xB0, 0xB1, 0x394, 0x394, 0x2013, 0x2013, 0x2212, 0x2212, 0};
    ImFontConfig config;
    config.OversampleH = 2;
    config.OversampleV = 1;
    config.GlyphExtraSpacing.x = std::round(letter_gap * scale);
    const std::string file = font_file();
    if (!file.empty()) {
        look.base = atlas.AddFontFromFileTTF(file.c_str(), std::round(17 * scale), &config, wide.data());
        look.medium = atlas.AddFontFromFileTTF(file.c_str(), std::round(23 * scale), &config, wide.data());
        look.large = atlas.AddFontFromFileTTF(file.c_str(), std::round(52 * scale), &config, figures.data());
    }
    if (look.base == nullptr || look.medium == nullptr || look.large == nullptr) {  // better small letters than none
        atlas.Clear();
        config = ImFontConfig();
        config.SizePixels = std::round(13 * scale);
        look.base = look.medium = look.large = atlas.AddFontDefault(&config);
    }
    dress(scale, Theme::dark);
    return look;
}

void dress(float scale, Theme theme) {
    ImGuiStyle style;
    style.WindowPadding = {12, 10};
    style.FramePadding = {10, 8};  // 17 + 16 = 33 px to hit
    style.FrameBorderSize = 1;
    style.ItemSpacing = {8, 7};
    style.ItemInnerSpacing = {8, 6};
    style.ScrollbarSize = 16;
    style.GrabMinSize = 24;
    style.WindowBorderSize = 0;
    style.ChildBorderSize = 0;
    style.PopupBorderSize = 1;
    style.WindowRounding = 0;
    style.FrameRounding = 3;
    style.PopupRounding = 3;
    style.ScrollbarRounding = 3;
    style.GrabRounding = 3;
    style.CellPadding = {6, 3};
    style.ScaleAllSizes(scale);
    const auto of_theme = [&](Gray gray, float alpha = 1) { return tone_vec(code(theme, gray), alpha); };
    for (ImVec4& color : style.Colors) color = of_theme(Gray::button);
    const auto set = [&](ImGuiCol which, Gray gray, float alpha = 1) { style.Colors[which] = of_theme(gray, alpha); };
    set(ImGuiCol_Text, Gray::text);
    set(ImGuiCol_TextDisabled, Gray::quiet);
    set(ImGuiCol_WindowBg, Gray::ground);
    set(ImGuiCol_ChildBg, Gray::ground, 0);
    set(ImGuiCol_PopupBg, Gray::field);
    set(ImGuiCol_Border, Gray::line);
    set(ImGuiCol_BorderShadow, Gray::ground, 0);
    set(ImGuiCol_FrameBg, Gray::field);
    set(ImGuiCol_FrameBgHovered, Gray::raised);
    set(ImGuiCol_FrameBgActive, Gray::field);
    set(ImGuiCol_ScrollbarBg, Gray::ground);
    set(ImGuiCol_ScrollbarGrab, Gray::line);
    set(ImGuiCol_ScrollbarGrabHovered, Gray::quiet);
    set(ImGuiCol_ScrollbarGrabActive, Gray::text);
    set(ImGuiCol_CheckMark, Gray::text);
    set(ImGuiCol_Button, Gray::button);
    set(ImGuiCol_ButtonHovered, Gray::hovered);
    set(ImGuiCol_ButtonActive, Gray::active);
    set(ImGuiCol_Header, Gray::button);
    set(ImGuiCol_HeaderHovered, Gray::hovered);
    set(ImGuiCol_HeaderActive, Gray::active);
    set(ImGuiCol_Separator, Gray::line);
    set(ImGuiCol_TableBorderStrong, Gray::line);
    set(ImGuiCol_TableBorderLight, Gray::line);
    set(ImGuiCol_TableHeaderBg, Gray::raised);
    set(ImGuiCol_TableRowBg, Gray::ground, 0);
    set(ImGuiCol_TableRowBgAlt, Gray::raised);
    set(ImGuiCol_TextSelectedBg, Gray::text, 0.3F);
    set(ImGuiCol_NavHighlight, Gray::text);
    set(ImGuiCol_NavWindowingHighlight, Gray::text);
    style.Colors[ImGuiCol_NavWindowingDimBg] = tone_vec(0, 0.4F);
    style.Colors[ImGuiCol_ModalWindowDimBg] = tone_vec(0, 0.6F);
    for (int i = 0; i <= static_cast<int>(Gray::chosen_text); ++i) set(entry(static_cast<Gray>(i)), static_cast<Gray>(i));
    ImGui::GetStyle() = style;
}

}  // namespace sw::window
