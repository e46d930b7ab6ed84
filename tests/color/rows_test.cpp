#include "color/rows.hpp"

#include <hwy/tests/hwy_gtest.h>

#include <cmath>
#include <cstdio>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

// Every test named Rows runs on each instruction set of this machine, plain scalar included. What they are held to is the definition in double
// (color.hpp, difference.hpp), which has its own tests against published tables.
class Rows : public hwy::TestWithParamTarget {};
HWY_TARGET_INSTANTIATE_TEST_SUITE_P(Rows);

#ifdef SW_SLOW_BUILD
constexpr int kTrials = 20000;
#else
constexpr int kTrials = 200000;
#endif

using Floats = std::vector<float>;
constexpr float kNan = std::numeric_limits<float>::quiet_NaN(), kInf = std::numeric_limits<float>::infinity(),
                kSubnormal = std::numeric_limits<float>::denorm_min() * 1000;

/// The largest error as a share of its bound, with all that is needed to look at it.
class WorstOf {
public:
    void see(double expected, double actual, double bound, std::initializer_list<double> input) {
        ++count_;
        const double share = std::abs(actual - expected) / bound;
        if (share <= share_) return;  // NaN is worst, and stays
        if (std::isnan(share_)) return;
        share_ = share, expected_ = expected, actual_ = actual, bound_ = bound, input_ = input;
    }
    void report(const std::string& what) const {
        std::string input;
        for (const double x : input_) input += " " + std::to_string(x);
        std::printf("%-7s %-44s %8zu checked  worst %-9.3g bound %-8.3g (input%s, expected %.9g, actual %.9g)\n",
                    std::string(rows_instruction_set()).c_str(), what.c_str(), count_, std::abs(actual_ - expected_), bound_, input.c_str(),
                    expected_, actual_);
        EXPECT_GT(count_, 0U) << what;
        EXPECT_LE(share_, 1) << what << ": input" << input << ", expected " << expected_ << ", actual " << actual_ << ", bound " << bound_;
    }

private:
    std::size_t count_ = 0;
    double share_ = -1, expected_ = 0, actual_ = 0, bound_ = 0;
    std::vector<double> input_;
};

Floats decoded(const Floats& in) {
    Floats out(in.size());
    srgb_to_linear_rows(in, out);
    return out;
}

Floats lab_of(const Floats& rgb, const RgbToLab& map = RgbToLab::srgb()) {
    Floats out(rgb.size());
    lab_rows(rgb, map, out);
    return out;
}

Floats difference_of(const Floats& lab, const Lab& target) {
    Floats out(lab.size() / 3);
    difference_2000_rows(lab, target, out);
    return out;
}

float difference_of_one(const Lab& target, const Lab& sample) {
    return difference_of({static_cast<float>(sample.L), static_cast<float>(sample.a), static_cast<float>(sample.b)}, target)[0];
}

/// Linear sRGB to Lab D50 in double, the road of RgbToLab::srgb().
Lab definition(double r, double g, double b) { return lab(adapt(xyz(LinearRgb{r, g, b}), xyz(LinearRgb{1, 1, 1}), kWhiteD50), kWhiteD50); }

Lab rounded(const Lab& c) { return {static_cast<float>(c.L), static_cast<float>(c.a), static_cast<float>(c.b)}; }

class Random {
public:
    double operator()(double low, double high) { return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1.0p-53); }

private:
    std::mt19937_64 engine_{20240617};
};

TEST_P(Rows, AreThoseAskedFor) { EXPECT_EQ(rows_instruction_set(), hwy::TargetName(GetParam())); }

#ifndef HWY_COMPILE_ONLY_SCALAR
TEST(RowsOfThisMachine, AreTestedWithScalarAndMore) {
    const std::vector<std::int64_t> all = hwy::SupportedAndGeneratedTargets();
    EXPECT_GE(all.size(), 2U);
    EXPECT_EQ(all.back(), HWY_SCALAR);
}
#endif

TEST(RowsOfBytes, AreTheDefinitionRoundedToFloat) {
    std::vector<std::uint8_t> in(256);
    for (std::size_t i = 0; i < in.size(); ++i) in[i] = static_cast<std::uint8_t>(i);
    Floats out(256);
    srgb_to_linear_rows(in, out);
    for (std::size_t i = 0; i < in.size(); ++i) EXPECT_EQ(out[i], static_cast<float>(srgb_to_linear(static_cast<double>(i) / 255))) << i;
}

TEST_P(Rows, DecodeEvery16BitCode) {
    Floats in(2 * 65536);
    for (std::size_t i = 0; i < 65536; ++i) in[i] = static_cast<float>(i) / 65535.0F, in[65536 + i] = -in[i];
    const Floats out = decoded(in);
    WorstOf worst;
    for (std::size_t i = 0; i < in.size(); ++i) worst.see(srgb_to_linear(in[i]), out[i], kSrgbRowsMaxError, {in[i]});
    worst.report("sRGB to linear, every 16-bit code, both signs");
}

TEST_P(Rows, DecodeAboveOneRelatively) {
    Floats in;
    for (double e = 1; e < 1e15; e *= 1.0007) in.push_back(static_cast<float>(e));
    const Floats out = decoded(in);
    WorstOf worst;
    for (std::size_t i = 0; i < in.size(); ++i) {
        const double expected = srgb_to_linear(in[i]);
        worst.see(1, out[i] / expected, kSrgbRowsMaxError, {in[i]});
    }
    worst.report("sRGB to linear, 1..1e15, relative");
}

TEST_P(Rows, DecodeWhatIsOdd) {
    const Floats out = decoded({kNan, kInf, -kInf, 0.0F, -0.0F, kSubnormal, -kSubnormal, 1e30F});
    EXPECT_TRUE(std::isnan(out[0]));
    EXPECT_FALSE(std::isfinite(out[1]));
    EXPECT_FALSE(std::isfinite(out[2]));
    EXPECT_EQ(out[3], 0.0F);
    EXPECT_FALSE(std::signbit(out[3]));
    EXPECT_EQ(out[4], 0.0F);
    EXPECT_TRUE(std::signbit(out[4]));
    EXPECT_NEAR(out[5], kSubnormal / 12.92, 2 * std::numeric_limits<float>::denorm_min());
    EXPECT_NEAR(out[6], -kSubnormal / 12.92, 2 * std::numeric_limits<float>::denorm_min());
    EXPECT_EQ(out[7], kInf);  // as the definition rounded to float
}

TEST_P(Rows, LabOfAllThatSrgbCanShow) {
    // every fifth code of each channel (0 and 255 among them), and every gray of 16 bits
    std::vector<std::uint8_t> bytes;
    for (int r = 0; r <= 255; r += 5) {
        for (int g = 0; g <= 255; g += 5) {
            for (int b = 0; b <= 255; b += 5) {
                for (const int code : {r, g, b}) bytes.push_back(static_cast<std::uint8_t>(code));
            }
        }
    }
    Floats linear(bytes.size()), out(bytes.size());
    lab_rows(bytes, RgbToLab::srgb(), out);
    srgb_to_linear_rows(bytes, linear);
    EXPECT_EQ(lab_of(linear), out) << "bytes go the road of floats";
    WorstOf colors, grays;
    for (std::size_t i = 0; i < out.size(); i += 3) {
        const LinearRgb c = decode(EncodedRgb{bytes[i] / 255.0, bytes[i + 1] / 255.0, bytes[i + 2] / 255.0});
        const Lab expected = definition(c.r, c.g, c.b);
        const double code[3] = {expected.L, expected.a, expected.b};
        for (std::size_t k = 0; k < 3; ++k) {
            colors.see(code[k], out[i + k], kLabRowsMaxError, {double(bytes[i]), double(bytes[i + 1]), double(bytes[i + 2]), double(k)});
        }
    }
    colors.report("sRGB 8 bits to Lab");
    Floats ramp;
    for (int i = 0; i < 65536; ++i) ramp.insert(ramp.end(), 3, static_cast<float>(i) / 65535.0F);
    const Floats lab_ramp = lab_of(ramp);
    for (std::size_t i = 0; i < ramp.size(); i += 3) {
        const Lab expected = definition(ramp[i], ramp[i], ramp[i]);
        grays.see(expected.L, lab_ramp[i], kLabRowsMaxError, {ramp[i]});
        grays.see(0, lab_ramp[i + 1], kLabRowsMaxError, {ramp[i]});
        grays.see(0, lab_ramp[i + 2], kLabRowsMaxError, {ramp[i]});
    }
    grays.report("linear grays of 16 bits to Lab");
}

/// Lab by the 3 x 3 in double, and the largest sum of the products' sizes over the white's.
struct ByMatrix {
    Lab color;
    double sum = 0;
};
ByMatrix by_matrix(const std::array<double, 9>& m, const Xyz& white, const float* rgb) {
    std::array<double, 3> v{};
    ByMatrix result;
    const std::array<double, 3> w{white.X, white.Y, white.Z};
    for (std::size_t i = 0; i < 3; ++i) {
        double sum = 0;
        for (std::size_t k = 0; k < 3; ++k) v[i] += m[3 * i + k] * rgb[k], sum += std::abs(m[3 * i + k] * rgb[k]) / w[i];
        result.sum = std::max(result.sum, sum);
    }
    result.color = lab(Xyz{v[0], v[1], v[2]}, white);
    return result;
}

TEST_P(Rows, LabOfBrightAndOfMixedSigns) {
    // A matrix as a camera's calibration has it: negative entries, rows that give white for (0.9, 1, 1.1), any white.
    const std::array<double, 9> positive{43, 38, 15, 22, 70, 8, 2, 9, 72}, mixed{95, -12, 11, 28, 90, -18, 3, -25, 104};
    const Xyz white{96.2, 100, 81};
    Random random;
    Floats bright, any;
    for (int i = 0; i < kTrials; ++i) {
        const double most = std::pow(65504, random(0, 1));
        for (int k = 0; k < 3; ++k) {
            bright.push_back(static_cast<float>(random(0, most)));
            any.push_back(static_cast<float>(random(-1, 2)));
        }
    }
    WorstOf worst_bright, worst_any;
    const Floats lab_bright = lab_of(bright, {positive, white}), lab_any = lab_of(any, {mixed, white});
    for (std::size_t i = 0; i < bright.size(); i += 3) {
        const auto see = [i](WorstOf& worst, const Floats& in, const Floats& out, const ByMatrix& e, double bound) {
            const double expected[3] = {e.color.L, e.color.a, e.color.b};
            for (std::size_t k = 0; k < 3; ++k) worst.see(expected[k], out[i + k], bound, {in[i], in[i + 1], in[i + 2], double(k)});
        };
        const ByMatrix b = by_matrix(positive, white, &bright[i]), a = by_matrix(mixed, white, &any[i]);
        see(worst_bright, bright, lab_bright, b, kLabRowsMaxError * std::max(1.0, std::cbrt(b.sum)));
        see(worst_any, any, lab_any, a, kLabRowsSignedMaxError * std::max(1.0, a.sum));
    }
    worst_bright.report("linear 0..65504 to Lab");
    worst_any.report("linear -1..2, a map of mixed signs, to Lab");
}

TEST_P(Rows, LabOfWhatIsOdd) {
    const Floats white = lab_of({1, 1, 1});
    EXPECT_NEAR(white[0], 100, kLabRowsMaxError);
    EXPECT_NEAR(white[1], 0, kLabRowsMaxError);
    EXPECT_NEAR(white[2], 0, kLabRowsMaxError);
    for (const float zero : {0.0F, -0.0F, kSubnormal}) {
        const Floats black = lab_of({zero, zero, zero});
        for (const float value : black) EXPECT_NEAR(value, 0, 1e-5) << zero;
    }
    for (const float odd : {kNan, kInf, -kInf}) {
        for (std::size_t k = 0; k < 3; ++k) {
            Floats in{0.2F, 0.3F, 0.4F, 0.2F, 0.3F, 0.4F};
            in[k] = odd;
            const Floats out = lab_of(in), plain = lab_of({0.2F, 0.3F, 0.4F});
            for (std::size_t i = 0; i < 3; ++i) {
                EXPECT_FALSE(std::isfinite(out[i])) << odd << " in " << k << ", out " << i;
                EXPECT_EQ(out[3 + i], plain[i]) << "the neighbor is untouched";
            }
        }
    }
    // A channel the white does not have counts for nothing, as in lab().
    const RgbToLab no_blue({50, 40, 6, 25, 70, 5, 0, 0, 0}, Xyz{96, 100, 0});
    const Lab expected = lab(Xyz{48, 50, 0}, Xyz{96, 100, 0});
    const Floats out = lab_of({0.5F, 0.5F, 0.5F}, no_blue);
    EXPECT_NEAR(out[0], expected.L, kLabRowsMaxError);
    EXPECT_NEAR(out[2], expected.b, kLabRowsMaxError);
}

// Source: Sharma, Wu & Dalal 2005, table 1. It prints four decimals, hence 5e-5 beside the bound. The exactly opposite hues (pairs 10 and 14) are
// among those that must be right: they mirror each other in float too.
TEST_P(Rows, DifferenceOfThePublishedPairsBothWays) {
    const test::Csv csv = test::reference_csv("ciede2000_pairs.csv");
    WorstOf worst;
    for (std::size_t i = 0; i < csv.rows.size(); ++i) {
        const Lab first{csv.number(i, "L1"), csv.number(i, "a1"), csv.number(i, "b1")};
        const Lab second{csv.number(i, "L2"), csv.number(i, "a2"), csv.number(i, "b2")};
        const double published = csv.number(i, "de2000"), bound = kDifferenceRowsMaxError + 5e-5;
        worst.see(published, difference_of_one(first, second), bound, {csv.number(i, "pair"), 1});
        worst.see(published, difference_of_one(second, first), bound, {csv.number(i, "pair"), 2});
    }
    ASSERT_EQ(csv.rows.size(), 34U);
    worst.report("CIEDE2000, published pairs both ways");
}

double hue_apart(const Lab& p, const Lab& q) {
    const double apart = std::abs(lch(p).h - lch(q).h);
    return std::min(apart, 360 - apart);
}

TEST_P(Rows, DifferenceOfAnyTwoColors) {
    Random random;
    WorstOf far, near, neutral, opposite;
    int left_out = 0;
    for (int target = 0; target < 200; ++target) {
        const Lab from = rounded({random(-20, 120), random(-150, 150), random(-150, 150)});
        const Lab pale = rounded({from.L, from.a * 1e-3, from.b * 1e-3});
        const Lab opposing = rounded({random(0, 100), -from.a * random(0, 1), -from.b});
        Floats anywhere, beside, grays, across;
        for (int i = 0; i < kTrials / 200; ++i) {
            const double size = std::pow(10, random(-5, 1)), gray = std::pow(10, random(-6, 0.5));
            for (const double x : {random(-20, 120), random(-150, 150), random(-150, 150)}) anywhere.push_back(static_cast<float>(x));
            for (const double x : {from.L, from.a, from.b}) beside.push_back(static_cast<float>(x + random(-size, size)));
            for (const double x : {random(0, 100), random(-gray, gray), random(-gray, gray)}) grays.push_back(static_cast<float>(x));
            for (const double x : {opposing.L, opposing.a + random(-1, 1), opposing.b + random(-1, 1)}) across.push_back(static_cast<float>(x));
        }
        const auto see = [&left_out](WorstOf& worst, const Lab& reference, const Floats& in) {
            const Floats out = difference_of(in, reference);
            for (std::size_t i = 0; i < out.size(); ++i) {
                const Lab sample{in[3 * i], in[3 * i + 1], in[3 * i + 2]};
                // CIEDE2000 stretches a* first, for both colors alike: what is opposite stays so.
                if (std::abs(hue_apart(reference, sample) - 180) < 1e-3) {
                    ++left_out;
                    continue;
                }
                worst.see(difference_2000(reference, sample), out[i], kDifferenceRowsMaxError,
                          {reference.L, reference.a, reference.b, sample.L, sample.a, sample.b});
            }
        };
        see(far, from, anywhere);
        see(near, from, beside);
        see(neutral, pale, grays);
        see(neutral, from, grays);
        see(opposite, from, across);
    }
    far.report("CIEDE2000, any two");
    near.report("CIEDE2000, near each other");
    neutral.report("CIEDE2000, one or both near neutral");
    opposite.report("CIEDE2000, hues nearly opposite");
    EXPECT_LT(left_out, kTrials / 1000) << "left out as exactly opposite";
}

TEST_P(Rows, DifferenceOfExactlyMirroredColorsTakesTheDefinitionsSide) {
    Random random;
    WorstOf worst;
    for (int i = 0; i < kTrials / 100; ++i) {
        const Lab one = rounded({random(0, 100), random(-100, 100), random(-100, 100)});
        const Lab other = rounded({random(0, 100), -one.a, -one.b});
        worst.see(difference_2000(one, other), difference_of_one(one, other), kDifferenceRowsMaxError, {one.L, one.a, one.b, other.L});
    }
    for (const auto& [a, b] : {std::pair{30.0, 0.0}, {-30.0, 0.0}, {0.0, 30.0}, {0.0, -30.0}}) {
        worst.see(difference_2000({50, a, b}, {60, -a, -b}), difference_of_one({50, a, b}, {60, -a, -b}), kDifferenceRowsMaxError, {a, b});
    }
    worst.report("CIEDE2000, exactly opposite hues");
}

TEST_P(Rows, DifferenceOfWhatIsOdd) {
    for (const Lab& same : {Lab{50, 20, -30}, Lab{0, 0, 0}, Lab{100, 1e-20, 0}, Lab{37.5, -80.25, 80.125}}) {
        EXPECT_EQ(difference_of_one(same, same), 0.0F) << same.L << ' ' << same.a << ' ' << same.b;
    }
    EXPECT_NEAR(difference_of_one({50, 0, 0}, {50, kSubnormal, -0.0}), 0, 1e-5);
    for (const float odd : {kNan, kInf, -kInf}) {
        for (std::size_t k = 0; k < 3; ++k) {
            Floats in{40, 30, -20, 40, 30, -20};
            in[k] = odd;
            const Lab target{50, 20, -30};
            const Floats out = difference_of(in, target);
            EXPECT_FALSE(std::isfinite(out[0])) << odd << " in " << k;
            EXPECT_EQ(out[1], difference_of_one(target, {40, 30, -20})) << "the neighbor is untouched";
            EXPECT_FALSE(std::isfinite(difference_of_one({in[0], in[1], in[2]}, target))) << odd << " in the target's " << k;
        }
    }
}

TEST_P(Rows, DifferenceOfBytesIsThatOfTheirLab) {
    std::vector<std::uint8_t> bytes;
    Random random;
    for (int i = 0; i < 3 * 5000; ++i) bytes.push_back(static_cast<std::uint8_t>(random(0, 256)));
    const RgbToLab map = RgbToLab::srgb();
    const Lab target{52, 20, -31};
    Floats lab(bytes.size()), out(bytes.size() / 3);
    lab_rows(bytes, map, lab);
    difference_2000_rows(bytes, map, target, out);
    EXPECT_EQ(out, difference_of(lab, target));
    WorstOf worst;
    for (std::size_t i = 0; i < out.size(); ++i) {
        const LinearRgb c = decode(EncodedRgb{bytes[3 * i] / 255.0, bytes[3 * i + 1] / 255.0, bytes[3 * i + 2] / 255.0});
        // CIEDE2000 changes by at most about 2 for a step of 1 (a* near neutral counts 1.5): twice what Lab is off, beside the bound
        worst.see(difference_2000(target, definition(c.r, c.g, c.b)), out[i], kDifferenceRowsMaxError + 2 * kLabRowsMaxError,
                  {double(bytes[3 * i]), double(bytes[3 * i + 1]), double(bytes[3 * i + 2])});
    }
    worst.report("sRGB 8 bits to CIEDE2000");
}

/// Runs work(in, out) on every length to four vectors of 16 and one more, and on odd places in memory: what comes out does not depend on either, and
/// what lies before and behind stays as it was.
template <class In, class Work>
void every_length(const std::vector<In>& in, std::size_t in_step, std::size_t out_step, const Work& work) {
    constexpr std::size_t most = 4 * 16 + 1, guard = 20;
    constexpr float mark = -12345.5F;
    ASSERT_GE(in.size(), in_step * most);
    Floats whole(out_step * most + guard);  // room for what should not be written, so that the test says so and does not crash
    work(std::span(in).first(in_step * most), std::span(whole).first(out_step * most));
    for (std::size_t length = 0; length <= most; ++length) {
        for (std::size_t shift = 0; shift < 4; ++shift) {
            std::vector<In> from(shift + in_step * length);
            std::copy_n(in.begin(), in_step * length, from.begin() + static_cast<std::ptrdiff_t>(shift));
            Floats to(2 * guard + shift + out_step * length, mark);
            const std::span<float> inside = std::span(to).subspan(guard + shift, out_step * length);
            work(std::span<const In>(from).subspan(shift), inside);
            for (std::size_t i = 0; i < to.size(); ++i) {
                const std::size_t k = i - guard - shift;
                const float expected = i < guard + shift || k >= inside.size() ? mark : whole[k];
                ASSERT_EQ(to[i], expected) << "length " << length << ", shift " << shift << ", place " << i;
            }
        }
    }
}

TEST_P(Rows, EveryLengthAndAlignmentAndNothingBeside) {
    Random random;
    Floats values;
    std::vector<std::uint8_t> bytes;
    for (int i = 0; i < 3 * 65; ++i)
        values.push_back(static_cast<float>(random(0.01, 1))), bytes.push_back(static_cast<std::uint8_t>(random(0, 256)));
    const RgbToLab map = RgbToLab::srgb();
    const Lab target{50, 20, -30};
    every_length(values, 1, 1, [](auto in, auto out) { srgb_to_linear_rows(in, out); });
    every_length(bytes, 1, 1, [](auto in, auto out) { srgb_to_linear_rows(in, out); });
    every_length(values, 3, 3, [&](auto in, auto out) { lab_rows(in, map, out); });
    every_length(bytes, 3, 3, [&](auto in, auto out) { lab_rows(in, map, out); });
    every_length(values, 3, 1, [&](auto in, auto out) { difference_2000_rows(in, target, out); });
    every_length(bytes, 3, 1, [&](auto in, auto out) { difference_2000_rows(in, map, target, out); });
}

TEST_P(Rows, BlocksOfBytesJoinWithoutASeam) {
    std::vector<std::uint8_t> bytes(3 * 1537);  // the rows go by blocks inside: three and one more
    Random random;
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random(0, 256));
    Floats linear(bytes.size()), out(bytes.size());
    srgb_to_linear_rows(bytes, linear);
    lab_rows(bytes, RgbToLab::srgb(), out);
    EXPECT_EQ(out, lab_of(linear));
}

TEST_P(Rows, InPlace) {
    Random random;
    Floats values;
    for (int i = 0; i < 3 * 67; ++i) values.push_back(static_cast<float>(random(-0.1, 1.1)));
    Floats linear = values, lab = values;
    srgb_to_linear_rows(linear, linear);
    lab_rows(lab, RgbToLab::srgb(), lab);
    EXPECT_EQ(linear, decoded(values));
    EXPECT_EQ(lab, lab_of(values));
}

}  // namespace
}  // namespace sw
