#include "color/locus.hpp"

#include "color/light.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::Worst;

Uv on_locus(double kelvin) { return uv_1960(xyz(planck(kelvin), Observer::degree2)); }

/// The direction across the locus, upwards, of length 1. The tangent is a central difference of 4th order in ln T: off by less than 1e-9.
Uv across(double kelvin) {
    const double h = 0.004;
    const Uv a = on_locus(kelvin * std::exp(h)), b = on_locus(kelvin * std::exp(-h)), c = on_locus(kelvin * std::exp(2 * h)),
             d = on_locus(kelvin * std::exp(-2 * h));
    const double du = 8 * (b.u - a.u) - (d.u - c.u), dv = 8 * (b.v - a.v) - (d.v - c.v), length = std::hypot(du, dv);  // towards greater u
    return {-dv / length, du / length};
}

// Bar of the project: CCT to 0.5 K and Duv to 1e-5 over 1000..20000 K. The truth: Planck's law at a temperature, set off across the locus by a known
// distance. locus.hpp claims 0.01 K; the tangent's error times a distance of 0.05 turns into less than that.
TEST(Locus, FindsAKnownTemperatureAndDistance) {
    std::printf("%-24s %10s %10s   goal 0.5 K, 1e-5\n", "1000..20000 K, distance", "worst K", "worst Duv");
    Worst cct, duv;
    for (const double distance : {-0.05, -0.02, -0.005, 0.0, 0.005, 0.02, 0.05}) {
        Worst here, here_duv;
        for (double kelvin = 1000; kelvin <= 20000; kelvin *= 1.03) {
            const Uv at = on_locus(kelvin), normal = across(kelvin);
            const OnLocus found = nearest_on_locus({at.u + distance * normal.u, at.v + distance * normal.v});
            ASSERT_TRUE(found.found) << kelvin << ' ' << distance;
            const std::string where = std::to_string(kelvin) + " K, Duv " + std::to_string(distance);
            for (Worst* w : {&here, &cct}) w->see(std::abs(found.cct - kelvin), where);
            for (Worst* w : {&here_duv, &duv}) w->see(std::abs(found.duv - distance), where);
        }
        std::printf("%24.3f %10.2g %10.2g\n", distance, here.error(), here_duv.error());
    }
    cct.report("CCT over 1000..20000 K, K", 0.01);
    duv.report("Duv over 1000..20000 K", 1e-7);
}

// Robertson 1968, J. Opt. Soc. Am. 58(11), 1528, table 1 (as in Wyszecki & Stiles 1982, table 1(3.11)): points of the locus and slopes of the
// isotherms for reciprocal temperatures in mired; typed in from memory, the row of 325 as corrected later (0.24792). Five decimals: 5e-6 in u and v.
// Slopes have five digits: worst at 1.0182, half a digit is 2.4e-5 radian. Worked values of Ohno 2014 (Leukos 10(1)): none found.
struct Isotherm {
    double mired, u, v, slope;
};
constexpr Isotherm kRobertson[] = {
    {10, 0.18066, 0.26589, -0.25479},  {20, 0.18133, 0.26846, -0.26876},  {30, 0.18208, 0.27119, -0.28539},  {40, 0.18293, 0.27407, -0.30470},
    {50, 0.18388, 0.27709, -0.32675},  {60, 0.18494, 0.28021, -0.35156},  {70, 0.18611, 0.28342, -0.37915},  {80, 0.18740, 0.28668, -0.40955},
    {90, 0.18880, 0.28997, -0.44278},  {100, 0.19032, 0.29326, -0.47888}, {125, 0.19462, 0.30141, -0.58204}, {150, 0.19962, 0.30921, -0.70471},
    {175, 0.20525, 0.31647, -0.84901}, {200, 0.21142, 0.32312, -1.0182},  {225, 0.21807, 0.32909, -1.2168},  {250, 0.22511, 0.33439, -1.4512},
    {275, 0.23247, 0.33904, -1.7298},  {300, 0.24010, 0.34308, -2.0637},  {325, 0.24792, 0.34655, -2.4681},  {350, 0.25591, 0.34951, -2.9641},
    {375, 0.26400, 0.35200, -3.5814},  {400, 0.27218, 0.35407, -4.3633},  {425, 0.28039, 0.35577, -5.3762},  {450, 0.28863, 0.35714, -6.7262},
    {475, 0.29685, 0.35823, -8.5955},  {500, 0.30505, 0.35907, -11.324},  {525, 0.31320, 0.35968, -15.628},  {550, 0.32129, 0.36011, -23.325},
    {575, 0.32931, 0.36038, -40.770},  {600, 0.33724, 0.36051, -116.45},
};

TEST(Locus, IsRobertsons) {
    Worst point, slope;
    for (const Isotherm& row : kRobertson) {
        const double kelvin = 1e6 / row.mired;
        if (kelvin > 40000) continue;  // our planck() ends at 50000
        const Uv at = on_locus(kelvin), normal = across(kelvin);
        const std::string where = std::to_string(static_cast<int>(row.mired)) + " mired";
        point.see(std::max(std::abs(at.u - row.u), std::abs(at.v - row.v)), where);
        slope.see(std::abs(std::atan(normal.v / normal.u) - std::atan(row.slope)), where);
    }
    point.report("Robertson 1968 (from memory), u, v", 5e-6 + 1e-9);
    slope.report("Robertson 1968 (from memory), isotherms, radian", 2.5e-5);
}

TEST(Locus, SaysWhereItEnds) {
    EXPECT_FALSE(nearest_on_locus({0.1795, 0.262}).found);  // bluer than every Planckian
    EXPECT_FALSE(nearest_on_locus({0.62, 0.34}).found);     // redder than 500 K
    EXPECT_FALSE(nearest_on_locus_fast({0.62, 0.34}).found);
}

}  // namespace
}  // namespace sw
