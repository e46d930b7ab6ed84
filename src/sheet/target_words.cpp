#include "sheet/target_words.hpp"

#include <cmath>

#include "calibrate/calibration.hpp"
#include "sheet/figures.hpp"

namespace sw {
namespace {

/// To first order, from the spread of L* alone.
double lrv_sd(const Lab& color, double sd) {
    const double step = 0.01;
    const auto lrv = [&](double L) { return xyz(Lab{L, color.a, color.b, color.white}).Y; };
    return sd * (lrv(color.L + step) - lrv(color.L - step)) / (2 * step);
}

std::string kind_words(TargetKind kind) {
    switch (kind) {
        case TargetKind::chip:
            return "chip";
        case TargetKind::published:
            return "published value";
        case TargetKind::instrument:
            return "instrument reading";
        case TargetKind::screen:
            return "appearance on screen";
    }
    return "";
}

}  // namespace

TargetWords target_words(const Target& target) {
    const auto sd = lab_sd(target.lab_covariance), polar_sd = lch_sd(target.lab, target.lab_covariance);
    const Lch polar = lch(target.lab);
    const ScreenColor shown = screen_color(target.lab);
    TargetWords words;
    words.L = measured(target.lab.L, sd[0]);
    words.a = measured(target.lab.a, sd[1]);
    words.b = measured(target.lab.b, sd[2]);
    words.C = measured(polar.C, polar_sd[1]);
    // a gray has no hue
    words.h = polar.C < 1e-6 || !(polar_sd[2] <= 90) ? "unknown" : measured(polar.h, polar_sd[2]);
    words.lrv = measured(xyz(target.lab).Y, lrv_sd(target.lab, sd[0]));
    words.conditions = target.light + (target.observer == Observer::degree10 ? ", 10°" : ", 2°");
    words.kind = kind_words(target.kind);
    words.day = target.created.substr(0, 10);
    words.hex = hex(shown.rgb);
    words.patch = shown.rgb;
    words.in_gamut = shown.in_gamut;
    return words;
}

}  // namespace sw
