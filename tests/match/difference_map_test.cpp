// The map of a part: figures against known surfaces and direct counts; grain, thin edges and gloss laid on a made-up bench.
#include "match/difference_map.hpp"

#include <cmath>

#include "calibrate/scene.hpp"
#include "color/difference.hpp"
#include "match/compare.hpp"

namespace sw {
namespace {

using test::Bench;
using Cell = DifferenceMap::Cell;

const Box kPart{240, 40, 200, 140}, kChip{470, 40, 100, 100};

struct Laid {
    Bench bench;
    Calibration calibration;
    MapAnchor anchor;
};
/// Chip and part of one surface (or the part of another); `more` is laid on top before the photo is calibrated by its gray card.
Laid lay(int chip, int part, double grain = 0.01, const std::function<void(Bench&)>& more = {}) {
    Laid laid;
    laid.bench.grain = grain;
    References r;
    r.grays.push_back({laid.bench.lay_card(), 18});
    laid.bench.lay(kChip, test::surface(chip));
    laid.bench.lay(kPart, test::surface(part));
    if (more) more(laid.bench);
    laid.calibration = *calibrate(laid.bench.photo, r, {.lit_by = *light("LED-B3")});
    laid.anchor = map_anchor(*compare({{&laid.bench.photo, &laid.calibration, kChip, kPart, *light("LED-B3")}}));
    return laid;
}
DifferenceMap map_of(const Laid& laid, const MapOptions& options = {}) {
    auto map = difference_map(laid.bench.photo, laid.calibration, kPart, laid.anchor, *light("LED-B3"), Observer::degree2, options);
    EXPECT_TRUE(map) << (map ? "" : describe(map.error()));
    return *map;
}
/// Mean over the judged cells whose middles lie in a box.
double mean_in(const DifferenceMap& map, const Box& box) {
    double sum = 0;
    int n = 0;
    for (int y = 0; y < map.height; ++y) {
        for (int x = 0; x < map.width; ++x) {
            const float v = map.de00[static_cast<std::size_t>(y * map.width + x)];
            if (!std::isfinite(v) || !contains(box, {map.part.x + (x + 0.5) * map.cell, map.part.y + (y + 0.5) * map.cell})) continue;
            sum += v;
            ++n;
        }
    }
    return n > 0 ? sum / n : -1;
}
double true_difference(int a, int b) {
    const Light led = *light("LED-B3");
    const ObserverMatrix seen = observer_matrix(led, Observer::degree2);
    const auto color = [&](int i) {
        const Eigen::Vector3d v = 100 * (seen * test::surface(i));
        return lab(Xyz{v[0], v[1], v[2]}, xyz(led, Observer::degree2));
    };
    return difference_2000(color(a), color(b));
}

// The share is a plain count over the map; its range holds it; half and 95 % as sorted by hand.
TEST(DifferenceMap, TheShareIsACount) {
    const Laid laid = lay(120, 120, 0.02, [](Bench& b) { b.lay({240, 40, 70, 140}, test::surface(120), 1.25); });
    const DifferenceMap map = map_of(laid);
    std::vector<double> values;
    for (const float v : map.de00) {
        if (std::isfinite(v)) values.push_back(v);
    }
    ASSERT_EQ(values.size(), static_cast<std::size_t>(std::count(map.cells.begin(), map.cells.end(), Cell::judged)));
    std::sort(values.begin(), values.end());
    const auto within = std::count_if(values.begin(), values.end(), [](double v) { return v <= 2; });
    EXPECT_NEAR(map.within.value, static_cast<double>(within) / static_cast<double>(values.size()), 1e-12);
    EXPECT_NEAR(map.median.value, values[(values.size() - 1) / 2], 1e-6);
    EXPECT_LE(map.within.ci95.low, map.within.value);
    EXPECT_GE(map.within.ci95.high, map.within.value);
    EXPECT_GT(map.p95.value, map.median.value);
    EXPECT_LE(map.median.ci95.low, map.median.value);
}

// Each half of a part of two paints lies as far from the chip as compare() says of that half alone, and compare() is held to truths elsewhere.
TEST(DifferenceMap, EachPlaceIsAsFarAsComparedAlone) {
    double worst = 0;
#ifdef SW_SLOW_BUILD
    const std::vector<int> others{200};
#else
    const std::vector<int> others{121, 200, 310};
#endif
    for (const int other : others) {
        const Laid laid = lay(120, 120, 0.01, [&](Bench& b) { b.lay({340, 40, 100, 140}, 0.9 * test::surface(120) + 0.1 * test::surface(other)); });
        const DifferenceMap map = map_of(laid);
        for (const Box& half : {Box{250, 50, 80, 120}, Box{350, 50, 80, 120}}) {
            const Comparison alone = *compare({{&laid.bench.photo, &laid.calibration, kChip, half, *light("LED-B3")}});
            const MapAnchor anchor = map_anchor(alone);
            const double expected = difference_2000(anchor.part, anchor.target), found = mean_in(map, half);
            worst = std::max(worst, std::abs(found - expected));
            EXPECT_NEAR(found, expected, 0.25 + 0.08 * expected) << other;
        }
    }
    std::printf("worst half off what compare() says of it alone: %.2f\n", worst);
}

TEST(DifferenceMap, TheAnchorGivesTheComparisonBack) {
    for (const int other : {120, 310}) {
        const Laid laid = lay(120, other);
        const Comparison c = *compare({{&laid.bench.photo, &laid.calibration, kChip, kPart, *light("LED-B3")}});
        const Components steps = components(laid.anchor.target, laid.anchor.part);
        EXPECT_NEAR(steps.dL, c.difference.dL, 1e-9);
        EXPECT_NEAR(steps.dC, c.difference.dC, 1e-9);
        EXPECT_NEAR(steps.dH, c.difference.dH, 1e-6);
        EXPECT_NEAR(std::sqrt(laid.anchor.covariance(0, 0)), c.difference.dL_sd, 1e-9);
        EXPECT_NEAR(laid.anchor.covariance.trace(),
                    std::pow(c.difference.dL_sd, 2) + std::pow(c.difference.dC_sd, 2) + std::pow(c.difference.dH_sd, 2), 1e-9);
    }
    EXPECT_GT(true_difference(120, 310), 5);  // so that the above is no comparison of like with like
}

// Grain up to 8 % a pixel: the part stays even, and the noise stated is the one there is: between two photos of it.
TEST(DifferenceMap, GrainDoesNotPoseAsBlotch) {
#ifdef SW_SLOW_BUILD
    const std::vector<double> grains{0.08};
#else
    const std::vector<double> grains{0.005, 0.02, 0.08};
#endif
    for (const double grain : grains) {
        const Laid laid = lay(120, 120, grain);
        const DifferenceMap one = map_of(laid);
        EXPECT_TRUE(one.patches.empty()) << grain << ": " << one.patches.front().words << " " << one.patches.front().de00;
        EXPECT_EQ(one.glossy, 0) << grain;
        Laid again = laid;
        again.bench.lay(kPart, test::surface(120));  // the same paint, other grain
        Laid far = laid, far_again = again;
        far.anchor.target.L = far_again.anchor.target.L = laid.anchor.part.L + 20;  // far off, a figure is a ruler for lightness
        MapOptions same;
        same.smooth = one.smooth;
        const DifferenceMap a = map_of(far, same), b = map_of(far_again, same);
        double sum = 0;
        int n = 0;
        for (std::size_t i = 0; i < a.de00.size(); ++i) {
            if (!std::isfinite(a.de00[i]) || !std::isfinite(b.de00[i])) continue;
            sum += std::pow(a.de00[i] - b.de00[i], 2);
            ++n;
        }
        const double seen = std::sqrt(sum / n / 2);
        std::printf("grain %.3f: smoothed over %.0f pixels, noise stated %.2f, lightness alone between two photos %.2f\n", grain, one.smooth,
                    one.noise, seen);
        EXPECT_LT(seen, 1.2 * one.noise);  // lightness is one part of it: the grain here is of every channel by itself
        EXPECT_GT(seen, 0.15 * one.noise);
    }
}

// A left edge lighter by 10 % in light: L* steps by (L* + 16) / 3 * ln 1.1.
TEST(DifferenceMap, AThinEdgeIsNamedWithItsStep) {
    for (const double level : {1.1, 0.9}) {
        const Laid laid = lay(120, 120, 0.01, [&](Bench& b) { b.lay({240, 40, 30, 140}, test::surface(120), level); });
        const DifferenceMap map = map_of(laid);
        ASSERT_FALSE(map.patches.empty()) << level;
        const MapPatch& edge = map.patches.front();
        EXPECT_EQ(edge.where, "left edge");
        EXPECT_NEAR(edge.share, 0.15, 0.03);
        EXPECT_NEAR(edge.dL, (laid.anchor.part.L + 16) / 3 * std::log(level), 0.6);
        EXPECT_NE(edge.words.find(level > 1 ? "lighter" : "darker"), std::string::npos) << edge.words;
        EXPECT_EQ(map.glossy, 0);
    }
}

// A highlight of the lamp's light over a fiftieth of the part is told as gloss, there and nowhere else, and does not count.
TEST(DifferenceMap, GlossIsLeftOut) {
    const Box spot{320, 90, 24, 24};
    for (const int paint : {120, 40}) {
        const DifferenceMap plain = map_of(lay(paint, paint));
        const Laid laid = lay(paint, paint, 0.01, [&](Bench& b) {
            b.lay_rgb(spot, Eigen::Vector3d(0.9, 1, 1.15).cwiseProduct(Bench::camera() * (test::surface(paint) + ModelSpectrum::Constant(0.6))));
        });
        const DifferenceMap map = map_of(laid);
        int hit = 0, missed = 0, wrong = 0;
        for (int y = 0; y < map.height; ++y) {
            for (int x = 0; x < map.width; ++x) {
                const Point at{map.part.x + (x + 0.5) * map.cell, map.part.y + (y + 0.5) * map.cell};
                const bool glossy = map.cells[static_cast<std::size_t>(y * map.width + x)] != Cell::judged;
                const bool inside = contains(spot, at), near = contains(Box{spot.x - 6, spot.y - 6, spot.w + 12, spot.h + 12}, at);
                hit += inside && glossy;
                missed += inside && !glossy;
                wrong += !near && glossy;
            }
        }
        EXPECT_GT(hit, 100) << paint;
        EXPECT_EQ(missed, 0) << paint;
        EXPECT_EQ(wrong, 0) << paint;
        EXPECT_TRUE(map.patches.empty()) << paint;
        EXPECT_NEAR(map.p95.value, plain.p95.value, 0.15) << paint;
    }
}

// Ellipses and outlines: nothing outside of them is judged, and what lies there does not leak in.
TEST(DifferenceMap, OnlyTheRegionIsJudged) {
    const Laid laid = lay(120, 120);
    const Region round = Ellipse{340, 110, 60, 40};
    const auto map = difference_map(laid.bench.photo, laid.calibration, round, laid.anchor, *light("LED-B3"), Observer::degree2);
    ASSERT_TRUE(map);
    for (int y = 0; y < map->height; ++y) {
        for (int x = 0; x < map->width; ++x) {
            const Point at{map->part.x + (x + 0.5) * map->cell, map->part.y + (y + 0.5) * map->cell};
            const std::size_t i = static_cast<std::size_t>(y * map->width + x);
            if (map->cell < 1.5) {
                EXPECT_EQ(map->cells[i] != Cell::outside, contains(round, at));
            }
            EXPECT_EQ(std::isfinite(map->de00[i]), map->cells[i] == Cell::judged);
        }
    }
    EXPECT_LT(map->p95.value, 1);
}

TEST(DifferenceMap, WhatCannotBeMappedSaysWhy) {
    Laid laid = lay(120, 120);
    const auto fault = [&](const Region& region, std::optional<double> smooth) {
        MapOptions options;
        options.smooth = smooth;
        const auto map = difference_map(laid.bench.photo, laid.calibration, region, laid.anchor, *light("LED-B3"), Observer::degree2, options);
        return map ? Fault::internal : map.error().fault;
    };
    EXPECT_EQ(fault(Box{550, 350, 200, 200}, {}), Fault::region_outside);
    EXPECT_EQ(fault(Box{250, 50, 2, 2}, {}), Fault::region_too_small);
    EXPECT_EQ(fault(kPart, 0.5), Fault::bad_usage);
    EXPECT_EQ(fault(kPart, 100), Fault::bad_usage);
    EXPECT_EQ(fault(kPart, std::nan("")), Fault::bad_usage);
    std::fill(laid.bench.photo.clipped.begin(), laid.bench.photo.clipped.end(), std::uint8_t{1});
    EXPECT_EQ(fault(kPart, {}), Fault::region_too_small);
    EXPECT_EQ(fault(Box{250, 50, 4, 4}, {}), Fault::region_too_small);
}

}  // namespace
}  // namespace sw
