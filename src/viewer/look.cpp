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

}  // namespace

unsigned tone(int gray, int alpha) { return IM_COL32(gray, gray, gray, alpha); }

Look make_look(float scale) {
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
    for (ImVec4& color : style.Colors) color = tone_vec(gray::button);
    const auto set = [&](ImGuiCol which, int value, float alpha = 1) { style.Colors[which] = tone_vec(value, alpha); };
    set(ImGuiCol_Text, gray::text);
    set(ImGuiCol_TextDisabled, gray::quiet);
    set(ImGuiCol_WindowBg, gray::ground);
    set(ImGuiCol_ChildBg, gray::ground, 0);
    set(ImGuiCol_PopupBg, gray::field);
    set(ImGuiCol_Border, gray::line);
    set(ImGuiCol_BorderShadow, 0, 0);
    set(ImGuiCol_FrameBg, gray::field);
    set(ImGuiCol_FrameBgHovered, gray::raised);
    set(ImGuiCol_FrameBgActive, gray::field);
    set(ImGuiCol_ScrollbarBg, gray::ground);
    set(ImGuiCol_ScrollbarGrab, gray::line);
    set(ImGuiCol_ScrollbarGrabHovered, gray::quiet);
    set(ImGuiCol_ScrollbarGrabActive, gray::text);
    set(ImGuiCol_CheckMark, gray::text);
    set(ImGuiCol_Button, gray::button);
    set(ImGuiCol_ButtonHovered, gray::hovered);
    set(ImGuiCol_ButtonActive, gray::active);
    set(ImGuiCol_Header, gray::button);
    set(ImGuiCol_HeaderHovered, gray::hovered);
    set(ImGuiCol_HeaderActive, gray::active);
    set(ImGuiCol_Separator, gray::line);
    set(ImGuiCol_TableBorderStrong, gray::line);
    set(ImGuiCol_TableBorderLight, gray::line);
    set(ImGuiCol_TableHeaderBg, gray::raised);
    set(ImGuiCol_TableRowBg, gray::ground, 0);
    set(ImGuiCol_TableRowBgAlt, gray::raised);
    set(ImGuiCol_TextSelectedBg, 0x5A);
    set(ImGuiCol_NavHighlight, 0xFF);
    set(ImGuiCol_NavWindowingHighlight, 0xFF);
    set(ImGuiCol_NavWindowingDimBg, 0, 0.4F);
    set(ImGuiCol_ModalWindowDimBg, 0, 0.6F);
    ImGui::GetStyle() = style;
    return look;
}

}  // namespace sw::window
