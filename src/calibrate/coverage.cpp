#include "calibrate/coverage.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace sw {
namespace {

constexpr double kColored = 12;  // C* from which a reference tells something about a hue
constexpr double kStrong = 60;   // C* from which a sector counts as covered

struct Sector {
    const char* name;
    double hue;  // CIELAB, degrees, its middle
};
constexpr std::array<Sector, 6> kSectors{
    {{"reds", 25}, {"oranges and yellows", 80}, {"greens", 140}, {"blue-greens", 200}, {"blues", 270}, {"purples", 325}}};

std::string rounded(double value) { return std::to_string(std::lround(value)); }

std::string list_of(const std::vector<std::string>& names) {
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) text += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
    return text;
}

}  // namespace

std::vector<std::string> not_covered(const std::vector<ReferenceUse>& uses) {
    double darkest = 100, lightest = 0, strongest = 0;
    std::array<double, kSectors.size()> strength{};
    bool any = false;
    for (const ReferenceUse& use : uses) {
        if (!use.used) continue;
        any = true;
        const Lch color = lch(use.value);
        darkest = std::min(darkest, color.L);
        lightest = std::max(lightest, color.L);
        strongest = std::max(strongest, color.C);
        std::size_t nearest = 0;
        double least = 360;
        for (std::size_t i = 0; i < kSectors.size(); ++i) {
            const double apart = std::abs(std::remainder(color.h - kSectors[i].hue, 360.0));
            if (apart < least) {
                least = apart;
                nearest = i;
            }
        }
        strength[nearest] = std::max(strength[nearest], color.C);
    }
    if (!any) return {"every color: there is no reference"};
    std::vector<std::string> words;
    if (strongest < kColored) {
        words.emplace_back("all colors but grays: no colored reference");
    } else {
        std::vector<std::string> missing, weak;
        for (std::size_t i = 0; i < kSectors.size(); ++i) {
            if (strength[i] < kColored)
                missing.emplace_back(kSectors[i].name);
            else if (strength[i] < kStrong)
                weak.push_back(std::string(kSectors[i].name) + " stronger than C* " + rounded(strength[i]));
        }
        if (!missing.empty()) words.push_back(list_of(missing) + ": no reference of such a hue");
        if (!weak.empty()) words.push_back(list_of(weak));
        if (missing.empty()) words.push_back("very saturated colors, beyond C* " + rounded(strongest));
    }
    if (darkest > 5) words.push_back("colors darker than L* " + rounded(darkest));
    if (lightest < 95) words.push_back("colors lighter than L* " + rounded(lightest));
    return words;
}

}  // namespace sw
