#include "color/rows.hpp"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <numbers>

#include "color/adaptation.hpp"

// Highway compiles what stands between HWY_BEFORE_NAMESPACE and HWY_AFTER_NAMESPACE once for each instruction set, by including this file again.
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "color/rows.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"

HWY_BEFORE_NAMESPACE();
namespace sw::HWY_NAMESPACE {
namespace {

namespace hn = hwy::HWY_NAMESPACE;
using D = hn::ScalableTag<float>;
using V = hn::Vec<D>;

HWY_INLINE V constant(double value) { return hn::Set(D(), static_cast<float>(value)); }

/// c[0] + c[1] x + c[2] x^2 + ...
template <std::size_t N>
HWY_INLINE V polynomial(const double (&c)[N], V x) {
    V sum = constant(c[N - 1]);
    for (std::size_t i = N - 1; i > 0; --i) sum = hn::MulAdd(sum, x, constant(c[i - 1]));
    return sum;
}

/// x^(-1/root) within 3.5 %, for positive finite x: the exponent and fraction taken together are nearly the logarithm. `offset`, for which the
/// largest error is least, was found by trying on 400 000 values.
HWY_INLINE V guess_inverse_root(V x, double root, double offset) {
    const hn::Rebind<std::int32_t, D> di;
    const V logarithm = hn::ConvertTo(D(), hn::BitCast(di, x));
    return hn::BitCast(D(), hn::ConvertTo(di, hn::NegMulAdd(logarithm, constant(1 / root), constant(offset))));
}

/// Within a unit in the last place or two, for 1e-30 to 1e38; NaN or infinite for what is not finite.
HWY_INLINE V cube_root(V x) {
    // With r = 1 - x y^3, x^(-2/3) is y^2 (1 - r)^(-2/3): of that the first four terms, 6e-5 is left
    const V y = guess_inverse_root(x, 3, 1419916382.0), y2 = hn::Mul(y, y), xy2 = hn::Mul(x, y2);
    const V series = polynomial({1.0, 2.0 / 3, 5.0 / 9, 40.0 / 81}, hn::NegMulAdd(xy2, y, constant(1)));
    const V root = hn::Mul(xy2, series), inverse_square = hn::Mul(y2, series);
    // one step of Newton's brings it to rounding
    const V rest = hn::NegMulAdd(hn::Mul(root, root), root, x);
    return hn::MulAdd(hn::Mul(rest, inverse_square), constant(1.0 / 3), root);
}

/// x^2.4 = (x x^(-1/5))^3, for 1e-30 and above; infinite where it overflows, NaN or infinite for what is not finite.
HWY_INLINE V power_2_4(V x) {
    // x^(-1/5) is y (1 - r)^(-1/5) with r = 1 - x y^5; its first three terms leave 5e-4, then 1e-9
    const auto rest = [x](V y) HWY_ATTR {
        const V y2 = hn::Mul(y, y);
        return hn::NegMulAdd(hn::Mul(x, y), hn::Mul(y2, y2), constant(1));
    };
    const V guess = guess_inverse_root(x, 5, 1277932306.0);
    const V y = hn::Mul(guess, polynomial({1.0, 1.0 / 5, 3.0 / 25}, rest(guess)));
    const V r = rest(y), xy = hn::Mul(x, y);
    const V z = hn::MulAdd(xy, hn::Mul(r, polynomial({1.0 / 5, 3.0 / 25}, r)), xy);
    return hn::Mul(hn::Mul(z, z), z);
}

/// 1 / sqrt(x), within 2e-7, for 1e-37 and above.
HWY_INLINE V inverse_square_root(V x) {
#if HWY_ARCH_X86 && HWY_TARGET != HWY_SCALAR
    const V y = hn::ApproximateReciprocalSqrt(x);  // 11 bits or more; one step of Newton's doubles them
    return hn::Mul(y, hn::NegMulAdd(hn::Mul(x, constant(0.5)), hn::Mul(y, y), constant(1.5)));
#else
    return hn::Div(constant(1), hn::Sqrt(x));  // elsewhere the approximation has 8 bits
#endif
}

HWY_INLINE V srgb_to_linear(V encoded) {
    constexpr double kBentScale = 0.87941546140213;  // 1.055^-2.4
    const V size = hn::Abs(encoded);
    const V straight = hn::Mul(size, constant(1 / 12.92));
    const V bent = hn::Mul(power_2_4(hn::Add(size, constant(0.055))), constant(kBentScale));
    return hn::CopySign(hn::IfThenElse(hn::Gt(size, constant(0.04045)), bent, straight), encoded);
}

HWY_INLINE V lab_f(V t) {
    const V straight = hn::MulAdd(t, constant(841.0 / 108), constant(4.0 / 29));
    return hn::IfThenElse(hn::Gt(t, constant(216.0 / 24389)), cube_root(t), straight);
}

struct Triple {
    V first, second, third;
};

HWY_INLINE Triple load(const float* from) {
    Triple t{};
    hn::LoadInterleaved3(D(), from, t.first, t.second, t.third);
    return t;
}

HWY_INLINE void store(const Triple& t, float* to) { hn::StoreInterleaved3(t.first, t.second, t.third, D(), to); }

HWY_INLINE Triple lab(const Triple& rgb, const std::array<float, 9>& m) {
    const auto row = [&](std::size_t i) HWY_ATTR {
        const D d;
        return hn::MulAdd(rgb.first, hn::Set(d, m[i]), hn::MulAdd(rgb.second, hn::Set(d, m[i + 1]), hn::Mul(rgb.third, hn::Set(d, m[i + 2]))));
    };
    const V fx = lab_f(row(0)), fy = lab_f(row(3)), fz = lab_f(row(6));
    return {hn::MulAdd(fy, constant(116), constant(-16)), hn::Mul(hn::Sub(fx, fy), constant(500)), hn::Mul(hn::Sub(fy, fz), constant(200))};
}

/// 2^-x for 0..100, within 8e-8 of itself. (Highway's Exp is made for all of float and takes twice the time.)
HWY_INLINE V power_of_half(V x) {
    const auto whole = hn::NearestInt(hn::Neg(x));
    const V fraction = hn::Sub(hn::Neg(x), hn::ConvertTo(D(), whole));
    const V power = polynomial(
        {1.0000000716557491, 0.6931469670562709, 0.24022119718236723, 0.05550713284410212, 0.00967554164669643, 0.001327646939967083}, fraction);
    return hn::BitCast(D(), hn::Add(hn::BitCast(hn::RebindToSigned<D>(), power), hn::ShiftLeft<23>(whole)));
}

/// sqrt(C^7 / (C^7 + 25^7)) of x = C / 25. Above 40 it is 1 to the last place of float.
HWY_INLINE V chroma_weight(V x) {
    x = hn::Min(x, constant(40));
    const V x2 = hn::Mul(x, x), x4 = hn::Mul(x2, x2);
    const V x7 = hn::Mul(hn::Mul(x4, x2), x);
    return hn::Mul(x7, inverse_square_root(hn::MulAdd(x7, x7, hn::Add(x7, constant(1e-30)))));
}

HWY_INLINE V length(V x, V y) { return hn::Sqrt(hn::MulAdd(x, x, hn::Mul(y, y))); }

/// CIEDE2000 in the order, symbols and equation numbers of Sharma, Wu & Dalal 2005, but with directions in place of angles: what is wanted of the
/// hues is only the sine of half their difference, and functions of their mean.
HWY_INLINE V difference_2000(const Triple& sample, const std::array<float, 3>& target) {
    const D d;
    const V zero = hn::Zero(d), one = constant(1), tiny = constant(1e-30);
    const V L1 = hn::Set(d, target[0]), a1 = hn::Set(d, target[1]), b1 = hn::Set(d, target[2]);
    const V L2 = sample.first, a2 = sample.second, b2 = sample.third;

    const V mean_C25 = hn::Mul(hn::Add(length(a1, b1), length(a2, b2)), constant(1.0 / 50));  // (2), (3), over 25
    const V stretch = hn::NegMulAdd(chroma_weight(mean_C25), constant(0.5), constant(1.5));   // (4) 1 + G
    const V A1 = hn::Mul(stretch, a1), A2 = hn::Mul(stretch, a2);                             // (5)
    const V C1 = length(A1, b1), C2 = length(A2, b2);                                         // (6)

    // (10), (11): dH^2 = 2 (C1 C2 - dot) and, the same without cancellation, 2 cross^2 / (C1 C2 + dot). The products of `cross` are rounded alike,
    // no fused operation: colors that mirror each other give exactly 0. These count as (0, 180] degrees apart from the one of the smaller hue.
    const V cross = hn::Sub(hn::Mul(A1, b2), hn::Mul(b1, A2));
    const V dot = hn::MulAdd(A1, A2, hn::Mul(b1, b2));
    const auto apart = hn::Lt(dot, zero);  // by more than 90 degrees
    const V sum = hn::MulAdd(C1, C2, hn::Abs(dot));
    const float mirrored = target[2] > 0 || (target[2] == 0 && target[1] > 0) ? 1.0F : -1.0F;
    const V side = hn::IfThenElse(hn::Eq(cross, zero), hn::Set(d, mirrored), cross);
    const V half_square = hn::IfThenElse(apart, sum, hn::Div(hn::Mul(cross, cross), hn::Max(sum, tiny)));
    const V dH = hn::CopySign(hn::Sqrt(hn::Add(half_square, half_square)), side);

    // (14): the direction between the hues; for those far apart, the perpendicular of what separates them. Neutral colors have dH = 0, and need none.
    const V x1 = hn::Mul(A1, C2), y1 = hn::Mul(b1, C2), x2 = hn::Mul(A2, C1), y2 = hn::Mul(b2, C1);
    const V x = hn::IfThenElse(apart, hn::CopySign(hn::Sub(y2, y1), hn::Xor(side, hn::Sub(y2, y1))), hn::Add(x1, x2));
    const V y = hn::IfThenElse(apart, hn::CopySign(hn::Sub(x1, x2), hn::Xor(side, hn::Sub(x1, x2))), hn::Add(y1, y2));
    const V inverse = inverse_square_root(hn::MulAdd(x, x, hn::MulAdd(y, y, tiny)));
    const V c = hn::Mul(x, inverse), s = hn::Mul(y, inverse);  // cosine and sine of the mean hue

    // (15) with the cosines of sums and multiples of the angle written out
    constexpr double cos30 = 0.86602540378443865, sin30 = 0.5, cos6 = 0.99452189536827333, sin6 = 0.10452846326765347, cos63 = 0.45399049973954675,
                     sin63 = 0.89100652418836786;
    const V even = polynomial({1 - 0.24 - 0.20 * cos63, -0.17 * cos30 - 0.96 * cos6, 0.48 + 1.6 * cos63, 1.28 * cos6, -1.6 * cos63}, c);
    const V odd = polynomial({-0.17 * sin30 + 0.32 * sin6, 0.8 * sin63, -1.28 * sin6, -1.6 * sin63}, c);
    const V T = hn::MulAdd(s, odd, even);

    // (16): ((h - 275) / 25)^2, in powers of 2, is a smooth function of w = 1 - cos(h - 275): a polynomial, fitted for w <= 1.3 (107 degrees) so that
    // the exponential is good to 8e-8; beyond it is less than 1e-8. The paper does not go round at 0 degrees, so hues of 0 to 90 have none of it.
    constexpr double cos275 = 0.087155742747658166, sin275 = -0.99619469809174555;
    const V w = hn::Min(hn::NegMulAdd(s, constant(sin275), hn::NegMulAdd(c, constant(cos275), one)), constant(1.3));
    const V halvings = hn::Mul(
        w,
        polynomial({15.155463414499664, 2.526801955162699, 0.6621901320792488, 0.27390935127737687, -0.044770582791642574, 0.12570323740285744}, w));
    const auto first_quadrant = hn::And(hn::Gt(c, zero), hn::Ge(s, zero));
    const V two_theta = hn::IfThenZeroElse(first_quadrant, hn::Mul(power_of_half(halvings), constant(std::numbers::pi / 3)));  // radians
    // (21): sine of 0 to 60 degrees, within 2e-8
    const V sine = hn::Mul(two_theta, polynomial({0.9999998635749857, -0.16666500391960334, 0.00832785760145466, -0.00019171804302992962},
                                                 hn::Mul(two_theta, two_theta)));

    const V mean_L50 = hn::MulAdd(hn::Add(L1, L2), constant(0.5), constant(-50));                         // (12), less 50
    const V sum_Cp = hn::Add(C1, C2);                                                                     // (13), twice
    const V minus_RT = hn::Mul(hn::Add(sine, sine), chroma_weight(hn::Mul(sum_Cp, constant(1.0 / 50))));  // (17), (21)
    const V l50 = hn::Mul(mean_L50, mean_L50), root = hn::Sqrt(hn::Add(l50, constant(20)));
    const V SL = hn::MulAdd(constant(0.015), l50, root);                 // (18) times the root
    const V SC = hn::MulAdd(constant(0.0225), sum_Cp, one);              // (19)
    const V SH = hn::MulAdd(hn::Mul(constant(0.0075), sum_Cp), T, one);  // (20)
    const V inverse_CH = hn::Div(one, hn::Mul(SC, SH));                  // one division for two
    const V L = hn::Div(hn::Mul(hn::Sub(L2, L1), root), SL);
    const V C = hn::Mul(hn::Sub(C2, C1), hn::Mul(SH, inverse_CH)), H = hn::Mul(dH, hn::Mul(SC, inverse_CH));
    const V total = hn::MulAdd(L, L, hn::MulAdd(C, C, hn::Mul(H, hn::NegMulAdd(minus_RT, C, H))));  // (22)
    return hn::Sqrt(hn::IfThenZeroElse(hn::Lt(total, zero), total));                                // NaN passes
}

// What is done with one vector of values or colors. Parameters by value: a pointer might point into what is written, and would be read again each
// time.

struct Decode {
    static constexpr std::size_t in = 1, out = 1;  // floats a lane
    HWY_INLINE void operator()(const float* from, float* to) const { hn::StoreU(srgb_to_linear(hn::LoadU(D(), from)), D(), to); }
};

struct LabOfLinear {
    static constexpr std::size_t in = 3, out = 3;
    std::array<float, 9> map;
    HWY_INLINE void operator()(const float* from, float* to) const { store(lab(load(from), map), to); }
};

struct DifferenceOfLab {
    static constexpr std::size_t in = 3, out = 1;
    std::array<float, 3> target;
    HWY_INLINE void operator()(const float* from, float* to) const { hn::StoreU(difference_2000(load(from), target), D(), to); }
};

/// Whole vectors first; the rest goes through a padded copy.
template <class Work>
HWY_INLINE void each(const Work work, const float* in, float* out, std::size_t count) {
    const std::size_t lanes = hn::Lanes(D());
    std::size_t i = 0;
    for (; i + lanes <= count; i += lanes) work(in + Work::in * i, out + Work::out * i);
    if (i == count) return;
    HWY_ALIGN float from[Work::in * hn::MaxLanes(D())] = {}, to[Work::out * hn::MaxLanes(D())];
    std::copy_n(in + Work::in * i, Work::in * (count - i), from);
    work(from, to);
    std::copy_n(to, Work::out * (count - i), out + Work::out * i);
}

constexpr std::size_t kBlock = 512;  // pixels of bytes that are decoded at a time: they stay in the first-level cache

/// Four at a time: a loop of one is held up by its own counting.
HWY_INLINE void look_up(const std::uint8_t* codes, const float* table, float* linear, std::size_t count) {
    std::size_t i = 0;
    for (; i + 4 <= count; i += 4) {
        const float first = table[codes[i]], second = table[codes[i + 1]], third = table[codes[i + 2]], fourth = table[codes[i + 3]];
        linear[i] = first, linear[i + 1] = second, linear[i + 2] = third, linear[i + 3] = fourth;
    }
    for (; i < count; ++i) linear[i] = table[codes[i]];
}

}  // namespace

void decode_bytes(const std::uint8_t* in, const float* table, float* out, std::size_t count) { look_up(in, table, out, count); }

void decode_floats(const float* in, float* out, std::size_t count) { each(Decode(), in, out, count); }

void lab_of_linear(const float* rgb, const std::array<float, 9>& map, float* out, std::size_t pixels) { each(LabOfLinear{map}, rgb, out, pixels); }

void lab_of_srgb(const std::uint8_t* srgb, const float* table, const std::array<float, 9>& map, float* out, std::size_t pixels) {
    HWY_ALIGN float linear[3 * kBlock];
    for (std::size_t i = 0; i < pixels; i += kBlock) {
        const std::size_t count = std::min(kBlock, pixels - i);
        look_up(srgb + 3 * i, table, linear, 3 * count);
        each(LabOfLinear{map}, linear, out + 3 * i, count);
    }
}

void difference_of_lab(const float* in, const std::array<float, 3>& target, float* out, std::size_t pixels) {
    each(DifferenceOfLab{target}, in, out, pixels);
}

void difference_of_srgb(const std::uint8_t* srgb, const float* table, const std::array<float, 9>& map, const std::array<float, 3>& target, float* out,
                        std::size_t pixels) {
    HWY_ALIGN float values[3 * kBlock];
    for (std::size_t i = 0; i < pixels; i += kBlock) {
        const std::size_t count = std::min(kBlock, pixels - i);
        look_up(srgb + 3 * i, table, values, 3 * count);
        each(LabOfLinear{map}, values, values, count);
        each(DifferenceOfLab{target}, values, out + i, count);
    }
}

const char* instruction_set() { return hwy::TargetName(HWY_TARGET); }

}  // namespace sw::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace sw {
namespace {

HWY_EXPORT(decode_bytes);
HWY_EXPORT(decode_floats);
HWY_EXPORT(lab_of_linear);
HWY_EXPORT(lab_of_srgb);
HWY_EXPORT(difference_of_lab);
HWY_EXPORT(difference_of_srgb);
HWY_EXPORT(instruction_set);

const float* byte_table() {
    static const std::array<float, 256> table = [] {
        std::array<float, 256> t{};
        for (std::size_t code = 0; code < t.size(); ++code) t[code] = static_cast<float>(srgb_to_linear(static_cast<double>(code) / 255));
        return t;
    }();
    return table.data();
}

std::array<float, 3> floats(const Lab& color) { return {static_cast<float>(color.L), static_cast<float>(color.a), static_cast<float>(color.b)}; }

}  // namespace

RgbToLab::RgbToLab(const std::array<double, 9>& xyz_from_rgb, const Xyz& white) : over_white_{} {
    const std::array<double, 3> w{white.X, white.Y, white.Z};
    for (std::size_t i = 0; i < 9; ++i) over_white_[i] = w[i / 3] > 0 ? static_cast<float>(xyz_from_rgb[i] / w[i / 3]) : 0;
}

RgbToLab RgbToLab::srgb() {
    const Xyz screen = xyz(LinearRgb{1, 1, 1});
    const std::array<Xyz, 3> column{adapt(xyz(LinearRgb{1, 0, 0}), screen, kWhiteD50), adapt(xyz(LinearRgb{0, 1, 0}), screen, kWhiteD50),
                                    adapt(xyz(LinearRgb{0, 0, 1}), screen, kWhiteD50)};
    return {{column[0].X, column[1].X, column[2].X, column[0].Y, column[1].Y, column[2].Y, column[0].Z, column[1].Z, column[2].Z}, kWhiteD50};
}

void srgb_to_linear_rows(std::span<const std::uint8_t> encoded, std::span<float> linear) {
    assert(encoded.size() == linear.size());
    HWY_DYNAMIC_DISPATCH(decode_bytes)(encoded.data(), byte_table(), linear.data(), encoded.size());
}

void srgb_to_linear_rows(std::span<const float> encoded, std::span<float> linear) {
    assert(encoded.size() == linear.size());
    HWY_DYNAMIC_DISPATCH(decode_floats)(encoded.data(), linear.data(), encoded.size());
}

void lab_rows(std::span<const float> linear_rgb, const RgbToLab& map, std::span<float> lab) {
    assert(linear_rgb.size() % 3 == 0 && linear_rgb.size() == lab.size());
    HWY_DYNAMIC_DISPATCH(lab_of_linear)(linear_rgb.data(), map.over_white(), lab.data(), lab.size() / 3);
}

void lab_rows(std::span<const std::uint8_t> srgb, const RgbToLab& map, std::span<float> lab) {
    assert(srgb.size() % 3 == 0 && srgb.size() == lab.size());
    HWY_DYNAMIC_DISPATCH(lab_of_srgb)(srgb.data(), byte_table(), map.over_white(), lab.data(), lab.size() / 3);
}

void difference_2000_rows(std::span<const float> lab, const Lab& target, std::span<float> out) {
    assert(lab.size() == 3 * out.size());
    HWY_DYNAMIC_DISPATCH(difference_of_lab)(lab.data(), floats(target), out.data(), out.size());
}

void difference_2000_rows(std::span<const std::uint8_t> srgb, const RgbToLab& map, const Lab& target, std::span<float> out) {
    assert(srgb.size() == 3 * out.size());
    HWY_DYNAMIC_DISPATCH(difference_of_srgb)
    (srgb.data(), byte_table(), map.over_white(), floats(target), out.data(), out.size());
}

std::string_view rows_instruction_set() { return HWY_DYNAMIC_DISPATCH(instruction_set)(); }

}  // namespace sw
#endif  // HWY_ONCE
