#include "color/light.hpp"
#include "color/lights.hpp"
#include "color/locus.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::named;
using test::Worst;

// Source: figures of the CIE LED tables worked out by other code with 5 nm sums over 380..730 nm, printed to whole Ra, whole K and 1e-4 of Duv.
// Those sums move CCT by up to 2 K; Ra by less than its rounding. F2 and F11: the published 64 and 83 (from memory).
TEST(LightQuality, HasTheKnownFiguresOfLamps) {
    struct Known {
        const char* name;
        double cct, duv, ra;
    };
    for (const Known& k : {Known{"LED-B1", 2732, -0.0007, 82},
                           {"LED-B2", 2997, -0.0010, 83},
                           {"LED-B3", 4102, -0.0007, 85},
                           {"LED-B4", 5108, 0.0004, 77},
                           {"LED-B5", 6598, 0.0009, 80},
                           {"LED-BH1", 2850, -0.0003, 92},
                           {"LED-RGB1", 2839, 0.0042, 57},
                           {"LED-V1", 2723, -0.0019, 95},
                           {"LED-V2", 4069, 0.0010, 96},
                           {"A", 2856, 0, 100},
                           {"D65", 6504, 0.0032, 100},
                           {"F2", 4225, 0.0018, 64},
                           {"F11", 3999, 0, 83}}) {
        const LightQuality q = light_quality(named(k.name));
        EXPECT_NEAR(q.cct, k.cct, 2) << k.name;
        EXPECT_NEAR(q.duv, k.duv, 1e-4) << k.name;
        EXPECT_NEAR(q.ra, k.ra, 0.5) << k.name;
    }
}

// Property: a Planckian radiator has its own temperature, Duv 0 and, below 5000 K, Ra 100. Bar: 0.5 K over 1000..20000 K; ours is claimed at 0.01 K.
TEST(LightQuality, PlanckiansHaveTheirOwnTemperature) {
    Worst cct, duv, fast;
    for (double k = 1000; k <= 20000; k *= 1.07) {
        const Light l = planck(k);
        const LightQuality q = light_quality(l);
        cct.see(std::abs(q.cct - k), l.name);
        duv.see(std::abs(q.duv), l.name);
        if (k < 5000) {
            EXPECT_NEAR(q.ra, 100, 1e-3) << k;
        }
        if (k <= 4000) {
            EXPECT_NEAR(q.rf, 100, 1e-2) << k;
        }
        fast.see(std::abs(nearest_on_locus_fast(uv_1960(xyz(l, Observer::degree2))).cct / k - 1), l.name);
    }
    cct.report("Planckian radiators, CCT, K", 0.01);
    duv.report("Planckian radiators, Duv", 1e-6);
    fast.report("Planckian radiators, CCT by the quick way, relative", 2e-4);  // 1 K at 5000 K, as locus.hpp says
}

// A color set off the locus along its normal must come back with that temperature and distance, on both sides.
TEST(LightQuality, DistanceHasItsSign) {
    for (const double k : {1500.0, 2700.0, 5000.0, 12000.0}) {
        const auto on = [](double kelvin) { return uv_1960(xyz(planck(kelvin), Observer::degree2)); };
        const Uv at = on(k), hotter = on(k * 1.0005), cooler = on(k / 1.0005);
        const double du = cooler.u - hotter.u, dv = cooler.v - hotter.v, length = std::hypot(du, dv);
        for (const double d : {-0.03, -0.005, 0.005, 0.03}) {
            const OnLocus found = nearest_on_locus({at.u - d * dv / length, at.v + d * du / length});
            EXPECT_TRUE(found.found);
            EXPECT_NEAR(found.duv, d, 1e-6) << k;
            EXPECT_NEAR(found.cct / k, 1, 1e-4) << k << ' ' << d;
        }
    }
}

TEST(LightQuality, WhatIsNotWhiteHasNoTemperature) {
    SpectrumTable table{380, 10, std::vector<double>(41, 0.02)};
    for (std::size_t k = 14; k < 18; ++k) table.value[k] = 1;  // green
    const Result<Light> green = light_from_table(table, "green.csv");
    ASSERT_TRUE(green);
    const LightQuality q = light_quality(*green);
    EXPECT_FALSE(q.cct_valid);
    EXPECT_GT(std::abs(q.duv), 0.05);
    EXPECT_EQ(q.ra, 0);
    for (const char* text : {"planck:500", "planck:50000"}) {
        const LightQuality end = light_quality(named(text));
        EXPECT_TRUE(std::isfinite(end.ra) && std::isfinite(end.rf) && std::isfinite(end.rg) && std::isfinite(end.cct)) << text;
        EXPECT_TRUE(end.cct_valid) << text;
    }
}

}  // namespace
}  // namespace sw
