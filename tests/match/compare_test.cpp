// Chip against swatch: what is seen and what inferred, flags, verdicts, words, and what must cancel.
#include "match/compare.hpp"

#include <cmath>

#include "calibrate/scene.hpp"
#include "color/reference.hpp"
#include "slow.hpp"

namespace sw {
namespace {

using test::Bench;
using test::mentions;
using test::Scene;
using test::Worst;

using test::kSlow;

/// Calibrated by the gray card, made once a photo.
const Calibration& by_card(const Scene& s) {
    static std::map<std::string, Calibration> made;
    const auto at = made.find(s.name);
    if (at != made.end()) return at->second;
    References r;
    r.grays.push_back(s.card());
    return made.emplace(s.name, *calibrate(test::photo_of(s), r)).first->second;
}
PairInPhoto pair_of(const Scene& s, const char* chip = "chip", const char* swatch = "swatch") {
    return {&test::photo_of(s), &by_card(s), s.box(chip), s.box(swatch), std::nullopt};
}
PairInPhoto lit(PairInPhoto pair, const std::string& name) {
    pair.lit_by = *light(name);
    return pair;
}
std::string listed(const Comparison& c) {
    std::string text;
    for (const PairUnder& p : c.lights) text += (text.empty() ? "" : ", ") + to_word(p.kind) + " " + p.light;
    return text;
}
double width(const Interval& i) { return i.high - i.low; }

/// Half of a box, left or right, with a tenth of it between.
Box half(const Box& b, bool right) { return {b.x + (right ? 0.55 * b.w : 0), b.y, 0.45 * b.w, b.h}; }

// ---- kinds

// Design, section 5: one photo sees under its own light and no other; where that is not named, nothing is called seen.
TEST(Compare, OnePhotoSeesOnlyItsOwnLight) {
    const Scene& s = test::scene("case-42");
    const Comparison unnamed = *compare({pair_of(s)}), named = *compare({lit(pair_of(s), "LED-B3")});
    EXPECT_EQ(listed(unnamed), "inferred D65, inferred A, inferred LED-B3");
    EXPECT_EQ(unnamed.lit_by, "unknown light");
    EXPECT_EQ(listed(named), "seen LED-B3, inferred D65, inferred A");
    EXPECT_EQ(named.lit_by, "LED-B3");
    CompareOptions asked;
    for (const char* name : {"F11", "D50", "LED-B1"}) asked.under.push_back(*light(name));
    EXPECT_EQ(listed(*compare({pair_of(s)}, asked)), "inferred F11, inferred D50, inferred LED-B1");
    EXPECT_EQ(listed(*compare({lit(pair_of(s), "D50")}, asked)), "seen D50, inferred F11, inferred LED-B1");
    for (const Comparison* c : {&unnamed, &named}) {
        ASSERT_EQ(c->notes.size(), 1U);
        EXPECT_NE(c->notes[0].find("One photo under one light cannot see metamerism"), std::string::npos);
        EXPECT_NE(c->notes[0].find("Photograph the pair again"), std::string::npos);
    }
    // the readings are stated under the photo's light, or under D50
    EXPECT_EQ(named.chip.light, "LED-B3");
    EXPECT_EQ(unnamed.swatch.light, "D50");
    EXPECT_EQ(named.chip.name, "chip");
    EXPECT_EQ(named.swatch.name, "swatch");
}

// Truth of case-42: 0.07 under LED-B2, 3.14 under D65: matches under the bench lamp only. Both seen intervals hold it.
TEST(Compare, TwoPhotosSeeUnderBothTheirLights) {
    const Scene &one = test::scene("case-42"), &two = test::scene("case-42 (2)");
    const Comparison c = *compare({lit(pair_of(one), "LED-B2"), lit(pair_of(two), "D65")});
    EXPECT_EQ(listed(c), "seen LED-B2, seen D65, inferred A, inferred LED-B3");
    EXPECT_FALSE(mentions(c.notes, "One photo under one light"));
    EXPECT_EQ(c.unusual, mentions(c.notes, "An unusual pair: under D65 the pair was seen"));
    EXPECT_EQ(c.lit_by, "LED-B2");
    const double truth_bench = one.truth["pair"]["bench"]["de2000"], truth_d65 = one.truth["pair"]["D65"]["de2000"];
    std::printf("LED-B2: %.2f [%.2f, %.2f], true %.2f; D65: %.2f [%.2f, %.2f], true %.2f\n", c.lights[0].de00, c.lights[0].ci95.low,
                c.lights[0].ci95.high, truth_bench, c.lights[1].de00, c.lights[1].ci95.low, c.lights[1].ci95.high, truth_d65);
    EXPECT_LE(c.lights[0].ci95.low, truth_bench);
    EXPECT_GE(c.lights[0].ci95.high, truth_bench);
    EXPECT_LE(c.lights[1].ci95.low, truth_d65);
    EXPECT_GE(c.lights[1].ci95.high, truth_d65);
    EXPECT_EQ(c.difference.de00, c.lights[0].de00);  // the difference is that of the first photo
    for (std::size_t i = 0; i < 2; ++i) {
        EXPECT_EQ(c.lights[i].bounds.low, c.lights[i].ci95.low);  // seen: nothing left to physics
        EXPECT_EQ(c.lights[i].bounds.high, c.lights[i].ci95.high);
    }
    // the second photo without its light's name: only the first is seen, and D65 is inferred from both
    EXPECT_EQ(listed(*compare({lit(pair_of(one), "LED-B2"), pair_of(two)})), "seen LED-B2, inferred D65, inferred A, inferred LED-B3");
    EXPECT_EQ(listed(*compare({pair_of(one), pair_of(two)})), "inferred D65, inferred A, inferred LED-B3");
}

// A second photo tells more: under a third light (A) what is said of the five scenes with two photos, pairs picked to trick a light, comes nearer the
// truth and is held by no fewer intervals. (Widths are no measure here: an interval grows with the difference that the second photo reveals.)
TEST(Compare, ASecondPhotoBringsOtherLightsNearerTheTruth) {
    double one_off = 0, two_off = 0, one_width = 0, two_width = 0;
    int scenes = 0, one_holds = 0, two_holds = 0;
    CompareOptions options;
    options.under = {*light("A")};
    for (const char* name : {"case-42", "case-44", "case-52", "case-57", "case-59"}) {
        const Scene &first = test::scene(name), &second = test::scene(std::string(name) + " (2)");
        const auto of = [&](const Scene& s) { return lit(pair_of(s), s.photo["light"]); };
        const PairUnder one = compare({of(first)}, options)->lights.back(), two = compare({of(first), of(second)}, options)->lights.back();
        const double truth = first.truth["pair"]["A"]["de2000"];
        std::printf("%s under A: one photo %.2f [%.2f, %.2f], two %.2f [%.2f, %.2f], true %.2f\n", name, one.de00, one.ci95.low, one.ci95.high,
                    two.de00, two.ci95.low, two.ci95.high, truth);
        one_off += std::abs(one.de00 - truth);
        two_off += std::abs(two.de00 - truth);
        one_width += width(one.ci95);
        two_width += width(two.ci95);
        one_holds += one.ci95.low <= truth && truth <= one.ci95.high;
        two_holds += two.ci95.low <= truth && truth <= two.ci95.high;
        ++scenes;
    }
    std::printf("mean error: one photo %.2f, two %.2f; mean width %.2f, %.2f; intervals hold %d, %d of %d\n", one_off / scenes, two_off / scenes,
                one_width / scenes, two_width / scenes, one_holds, two_holds, scenes);
    EXPECT_LT(two_off, one_off);
    EXPECT_GE(two_holds + 1, one_holds);  // of five pairs made to trick the light: one more or less says nothing
}

// ---- flags and verdicts

struct FlagCase {
    double holds, breaks;  // thresholds, less the figure
    Flag expected;
};
class Flags : public testing::TestWithParam<FlagCase> {};

// README: below `holds_below` holds, up to and with `breaks_above` shifts, beyond it breaks.
TEST_P(Flags, FollowTheThresholds) {
    static const Comparison plain = *compare({pair_of(test::scene("case-22"))});
    for (std::size_t i = 0; i < plain.lights.size(); ++i) {
        CompareOptions options;
        options.holds_below = plain.lights[i].de00 + GetParam().holds;
        options.breaks_above = plain.lights[i].de00 + GetParam().breaks;
        const Comparison c = *compare({pair_of(test::scene("case-22"))}, options);
        EXPECT_EQ(c.lights[i].flag, GetParam().expected) << c.lights[i].light;
        EXPECT_EQ(c.lights[i].de00, plain.lights[i].de00);
    }
}
INSTANTIATE_TEST_SUITE_P(Thresholds, Flags,
                         testing::Values(FlagCase{0.01, 5, Flag::holds}, FlagCase{0, 0.01, Flag::shifts}, FlagCase{-0.5, 0.5, Flag::shifts},
                                         FlagCase{-0.5, 0, Flag::shifts}, FlagCase{-0.5, -0.01, Flag::breaks}));

TEST(Compare, TheChanceOfBreakingFallsWithTheThreshold) {
    double before = 1.1;
    for (double threshold : {0.5, 2.0, 4.0, 8.0, 50.0}) {
        CompareOptions options;
        options.breaks_above = threshold;
        options.under = {*light("D65")};
        const double chance = compare({pair_of(test::scene("case-22"))}, options)->lights[0].breaks_probability;
        EXPECT_GE(chance, 0);
        EXPECT_LE(chance, before);
        before = chance;
    }
    EXPECT_LT(before, 0.01);
}

// Within or outside only when the whole interval is (design, section 5).
TEST(Compare, TheVerdictTakesTheWholeInterval) {
    const PairInPhoto pair = pair_of(test::scene("case-22"));
    const Difference plain = compare({pair})->difference;
    ASSERT_GT(plain.ci95.low, 0.5) << "needs a pair that is told apart";
    const auto with = [&](double tolerance) {
        CompareOptions options;
        options.tolerance = tolerance;
        const Difference d = compare({pair}, options)->difference;
        EXPECT_EQ(d.tolerance, tolerance);
        EXPECT_EQ(d.de00, plain.de00);
        EXPECT_EQ(d.advice.rfind("not resolved: ", 0) == 0, d.verdict == Verdict::not_resolved);
        return d.verdict;
    };
    EXPECT_EQ(with(plain.ci95.high + 0.01), Verdict::within);
    EXPECT_EQ(with(plain.ci95.high), Verdict::within);
    EXPECT_EQ(with(plain.ci95.high - 0.01), Verdict::not_resolved);
    EXPECT_EQ(with(plain.de00), Verdict::not_resolved);
    EXPECT_EQ(with(plain.ci95.low), Verdict::not_resolved);
    EXPECT_EQ(with(plain.ci95.low - 0.01), Verdict::outside);
    EXPECT_EQ(with(0), Verdict::outside);
}

// The largest part comes first, is named, and its advice is the one given; no part is negative; what is shown lies in its interval.
TEST(Compare, NamesTheLargestErrorAndKeepsFiguresTogether) {
    int count = 0;
    for (const Scene& s : test::scenes()) {
        if (kSlow && ++count > 5) break;
        const Comparison c = *compare({lit(pair_of(s), s.photo["light"])});
        const Difference& d = c.difference;
        ASSERT_EQ(d.budget.size(), 8U);
        EXPECT_EQ(d.largest_error, d.budget[0].name);
        EXPECT_NE(d.advice.find(d.budget[0].advice), std::string::npos);
        for (std::size_t i = 0; i < d.budget.size(); ++i) {
            EXPECT_GE(d.budget[i].size, 0);
            EXPECT_TRUE(i == 0 || d.budget[i].size <= d.budget[i - 1].size);
            EXPECT_FALSE(d.budget[i].advice.empty());
        }
        EXPECT_GT(d.dL_sd, 0);
        EXPECT_GT(d.dC_sd, 0);
        EXPECT_GT(d.dH_sd, 0);
        EXPECT_LE(d.ci95.low, d.de00) << s.name;
        EXPECT_GE(d.ci95.high, d.de00) << s.name;
        for (const PairUnder& p : c.lights) {
            EXPECT_LE(p.ci95.low, p.de00) << s.name << ' ' << p.light;
            EXPECT_GE(p.ci95.high, p.de00) << s.name << ' ' << p.light;
            EXPECT_EQ(p.bounds.low <= p.ci95.low, true);
            if (p.kind == Kind::inferred) {
                EXPECT_GT(p.bounds.high, p.de00) << s.name << ' ' << p.light;  // physics allows at least what is believed
            }
        }
    }
}

// A made-up bench with one fault each: its line is the one given. Its other doubts are small: a chart or card near by, little grain, even light, a
// light that is named.
TEST(Compare, EachFaultHasItsAdvice) {
    struct Fault {
        const char* part;
        const char* advice;
        double grain = 0.01, slope = 0, apart = 70, side = 60;
        bool chart = true, card = true, linear = true;
        const char* lit_by = "LED-B3";
        int chip = 4000, swatch = 4000;  // of the library
        double level = 1;
    };
    const std::vector<Fault> faults{
        {.part = "a camera is not an eye, and unlike paints may trick it", .advice = "photograph the pair under a second light"},
        {.part = "grain and texture", .advice = "mark larger, plain parts", .grain = 0.4, .side = 6},
        {.part = "uneven light between chip and swatch", .advice = "put chip and swatch side by side", .slope = 1.2, .apart = 520, .chart = false},
        {.part = "the lamp's spectrum, known only by its box",
         .advice = "give the lamp's spectrum as a CSV file",
         .lit_by = "led:6500,ra=80",
         .swatch = 21000},
        {.part = "the light is not named", .advice = "say which light it is", .lit_by = nullptr, .swatch = 21000},
        {.part = "the camera's tone curve", .advice = "24-patch chart", .chart = false, .linear = false, .level = 0.25},
        {.part = "white and exposure", .advice = "put a gray card in the photo", .chart = false, .card = false, .level = 0.35},
        {.part = "color calibration of the camera", .advice = "put a 24-patch chart in the photo", .chart = false, .swatch = 21000},
    };
    for (const Fault& fault : faults) {
        Bench bench;
        bench.grain = fault.grain;
        bench.slope = {fault.slope, 0};
        bench.lay({0, 0, Bench::kWidth, Bench::kHeight}, Eigen::Matrix<double, kModelBands, 1>::Constant(0.4));
        References references;
        if (fault.card) references.grays.push_back({bench.lay_card(), 18});
        if (fault.chart) references.chart = bench.lay_chart();
        const Box chip = bench.lay({10, 300, fault.side, fault.side}, test::surface(fault.chip)),
                  swatch = bench.lay({10 + fault.apart, 300, fault.side, fault.side}, fault.level * test::surface(fault.swatch));
        bench.photo.linear = fault.linear;
        const Calibration calibration = *calibrate(bench.photo, references);
        PairInPhoto pair{&bench.photo, &calibration, chip, swatch, std::nullopt};
        if (fault.lit_by != nullptr) pair.lit_by = *light(fault.lit_by);
        const Difference d = compare({pair})->difference;
        std::printf("%s:\n  ", fault.part);
        for (const ErrorPart& part : d.budget) std::printf(" %.2f %s;", part.size, part.name.c_str());
        std::printf("\n");
        EXPECT_EQ(d.largest_error, fault.part);
        EXPECT_NE(d.advice.find(fault.advice), std::string::npos) << d.advice;
    }
}

TEST(Compare, SaysTheSameEachTime) {
    const PairInPhoto pair = pair_of(test::scene("case-35"));
    const Comparison a = *compare({pair}), b = *compare({pair});
    EXPECT_EQ(a.difference.de00, b.difference.de00);
    EXPECT_EQ(a.difference.ci95.low, b.difference.ci95.low);
    EXPECT_EQ(a.difference.ci95.high, b.difference.ci95.high);
    for (std::size_t i = 0; i < a.lights.size(); ++i) {
        EXPECT_EQ(a.lights[i].de00, b.lights[i].de00);
        EXPECT_EQ(a.lights[i].bounds.high, b.lights[i].bounds.high);
    }
}

// ---- one thing against itself

// The same region twice differs by nothing; the interval begins at 0, and no word claims a difference.
TEST(Compare, ARegionAgainstItselfIsNoDifference) {
    Worst shown;
    int count = 0;
    for (const Scene& s : test::scenes()) {
        if (kSlow && ++count > 5) break;
        const Comparison c = *compare({pair_of(s, "chip", "chip")});
        shown.see(c.difference.de00, s.name);
        EXPECT_EQ(c.difference.ci95.low, 0) << s.name;
        EXPECT_EQ(c.difference.words, "no difference that this photo could show");
        EXPECT_NEAR(c.difference.dL, 0, 1e-9);
        EXPECT_NEAR(c.difference.dC, 0, 1e-9);
        EXPECT_NEAR(c.difference.dH, 0, 1e-4);  // a square root of rounding
        EXPECT_NE(c.difference.verdict, Verdict::outside);
        for (const PairUnder& p : c.lights) EXPECT_EQ(p.ci95.low, 0) << p.light;
    }
    shown.report("shown difference of a region against itself", 0.6);  // a median of lengths is never quite 0
}

// The left half of a chip against its right half, 42 times: noise and uneven light alone. 95 % must not be told apart: at most 5 of 42 (binomial, 98
// %).
TEST(Compare, TwoHalvesOfOneChipAreNotToldApart) {
    int apart = 0, all = 0;
    Worst shown;
    for (const Scene& s : test::scenes()) {
        if (kSlow && all >= 10) break;
        for (const char* role : {"chip", "swatch"}) {
            PairInPhoto pair = pair_of(s);
            pair.chip = half(s.box(role), false);
            pair.swatch = half(s.box(role), true);
            const Difference d = compare({pair})->difference;
            ++all;
            apart += d.ci95.low > 0;
            shown.see(d.de00, s.name + " " + role);
            EXPECT_EQ(d.words == "no difference that this photo could show", d.ci95.low == 0);
        }
    }
    std::printf("%d of %d halves told apart\n", apart, all);
    EXPECT_LE(apart, 5);
    shown.report("shown difference of two halves", 1.2);
}

// ---- direction

struct MadePair {
    Bench bench;
    Calibration calibration;
    Box chip, swatch;
};
MadePair made(const ModelSpectrum& chip, const ModelSpectrum& swatch, bool card = true) {
    MadePair m;
    References r;
    if (card) r.grays.push_back({m.bench.lay_card(), 18});
    m.chip = m.bench.lay({200, 150, 90, 100}, chip);
    m.swatch = m.bench.lay({300, 150, 90, 100}, swatch);
    m.calibration = *calibrate(m.bench.photo, r);
    return m;
}
PairInPhoto pair_in(const MadePair& m, bool exchanged = false) {
    return {&m.bench.photo, &m.calibration, exchanged ? m.swatch : m.chip, exchanged ? m.chip : m.swatch, std::nullopt};
}

// Exchanged, the signs flip and the figure stays; each chip shows its own slope of the light, hence not to the last digit.
TEST(Compare, ExchangingChipAndSwatchFlipsTheSigns) {
    Worst signs, size;
    for (int i : {100, 5100, 9100, 15100, 21100}) {
        const ModelSpectrum a = test::surface(i), b = (0.85 * a + ModelSpectrum::Constant(0.01)).eval();
        const MadePair m = made(a, b);
        const Difference d = compare({pair_in(m)})->difference, e = compare({pair_in(m, true)})->difference;
        const std::string where = "surface " + std::to_string(i);
        for (const double sum : {d.dL + e.dL, d.dC + e.dC, d.dH + e.dH}) signs.see(std::abs(sum), where);
        size.see(std::abs(d.de00 - e.de00), where);
        EXPECT_LT(d.dL * e.dL, 0) << where;
    }
    signs.report("sum of the components there and back", 0.25);
    size.report("difference there less back", 0.25);
}

// A swatch that reflects four fifths of the chip at all wavelengths is darker by what Lab says, in words too; the interval holds the truth.
TEST(Compare, TellsWhichWayAndHowMuch) {
    int covered = 0;
    for (int i : {100, 5100, 9100, 15100, 21100}) {
        const ModelSpectrum a = test::surface(i), b = 0.8 * a;
        const MadePair m = made(a, b);
        const Comparison there = *compare({pair_in(m)}), back = *compare({pair_in(m, true)});
        const Lab chip = test::lab_d50(a), swatch = test::lab_d50(b);
        const double truth = difference_2000(chip, swatch), dL = swatch.L - chip.L;
        const Difference& d = there.difference;
        std::printf("surface %5d: dE00 %.2f [%.2f, %.2f], true %.2f; dL* %.2f +- %.2f, true %.2f; %s\n", i, d.de00, d.ci95.low, d.ci95.high, truth,
                    d.dL, d.dL_sd, dL, d.words.c_str());
        covered += d.ci95.low <= truth && truth <= d.ci95.high;
        EXPECT_NEAR(d.dL, dL, 0.5 + 2 * d.dL_sd);
        EXPECT_NE(d.words.find("darker"), std::string::npos);
        EXPECT_NE(back.difference.words.find("lighter"), std::string::npos);
    }
    EXPECT_GE(covered, 4);  // 95 % of 5
}

// Chip as anchor (design, section 5): without any reference white and exposure are unknown by a quarter, yet both share that: the pair's lightness
// step is known far better than either lightness.
TEST(Compare, WhatIsCommonToBothCancels) {
    const ModelSpectrum a = test::surface(5100), b = 0.9 * a;
    const MadePair none = made(a, b, false), card = made(a, b, true);
    const Comparison without = *compare({pair_in(none)}), with = *compare({pair_in(card)});
    std::printf("no reference: L* of the chip +- %.2f, step +- %.2f; with a card: +- %.2f, +- %.2f\n", lab_sd(without.chip)[0],
                without.difference.dL_sd, lab_sd(with.chip)[0], with.difference.dL_sd);
    EXPECT_LT(without.difference.dL_sd, lab_sd(without.chip)[0] / 3);
    EXPECT_LT(std::abs(without.difference.de00 - with.difference.de00), 0.5 + 0.1 * with.difference.de00);
}

// A coarse, tiny swatch: its part in the budget is grain, many times that of a fine large one, and its advice is to mark more of it.
TEST(Compare, GrainShowsInTheBudget) {
    std::array<double, 2> size{};
    for (const bool coarse : {false, true}) {
        MadePair m = made(ModelSpectrum::Constant(0.3), ModelSpectrum::Constant(0.3));
        if (coarse) {
            m.bench.grain = 0.3;
            m.swatch = m.bench.lay({450, 150, 6, 6}, ModelSpectrum::Constant(0.3));
        }
        const Difference d = compare({pair_in(m)})->difference;
        for (const ErrorPart& part : d.budget) {
            if (part.name != "grain and texture") continue;
            size[coarse ? 1 : 0] = part.size;
            EXPECT_NE(part.advice.find("mark larger"), std::string::npos);
        }
        if (coarse) {
            EXPECT_NE(d.verdict, Verdict::within);
        }
    }
    std::printf("grain and texture: fine %.2f, coarse and tiny %.2f\n", size[0], size[1]);
    EXPECT_GT(size[1], 3 * size[0]);
}

// ---- errors

TEST(Compare, ARegionOutsideIsNamedByItsRole) {
    const Scene& s = test::scene("case-42");
    for (const bool is_chip : {true, false}) {
        for (const std::size_t photo : {0U, 1U}) {
            std::vector<PairInPhoto> pairs{pair_of(s), pair_of(test::scene("case-42 (2)"))};
            (is_chip ? pairs[photo].chip : pairs[photo].swatch) = Box{1250, 10, 200, 100};
            const Result<Comparison> c = compare(pairs);
            ASSERT_FALSE(c);
            EXPECT_EQ(c.error().fault, Fault::region_outside);
            EXPECT_NE(c.error().place.find(is_chip ? "chip" : "swatch"), std::string::npos);
            EXPECT_FALSE(c.error().remedy.empty());
        }
    }
    PairInPhoto tiny = pair_of(s);
    tiny.swatch = Box{10, 10, 2, 2};
    const Result<Comparison> c = compare({tiny});
    ASSERT_FALSE(c);
    EXPECT_EQ(c.error().fault, Fault::region_too_small);
    EXPECT_NE(c.error().place.find("swatch"), std::string::npos);
    EXPECT_FALSE(compare({}));
}

TEST(Words, AreThoseOfTheContract) {
    EXPECT_EQ(to_word(Verdict::within), "within");
    EXPECT_EQ(to_word(Verdict::outside), "outside");
    EXPECT_EQ(to_word(Verdict::not_resolved), "not resolved");
    EXPECT_EQ(to_word(Kind::seen), "seen");
    EXPECT_EQ(to_word(Kind::computed), "computed");
    EXPECT_EQ(to_word(Kind::inferred), "inferred");
    EXPECT_EQ(to_word(Flag::holds), "holds");
    EXPECT_EQ(to_word(Flag::shifts), "shifts");
    EXPECT_EQ(to_word(Flag::breaks), "breaks");
}

}  // namespace
}  // namespace sw
