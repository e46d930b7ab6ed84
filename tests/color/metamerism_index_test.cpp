#include "color/metamerism_index.hpp"

#include "color/difference.hpp"
#include "color/light.hpp"
#include "color/reference.hpp"

namespace sw {
namespace {

using test::Csv;
using test::Worst;

/// A light cut to 380..780 nm: the oracle sums over that range, whites too.
Light cut(const std::string& name) {
    Light l = *light(name);
    for (std::size_t i = 0; i < kBands; ++i) {
        const int nm = kFirstNm + static_cast<int>(i);
        if (nm < 380 || nm > 780) l.power[i] = 0;
    }
    return l;
}

std::vector<std::array<Reflectance, 2>> pairs() {
    const Csv csv = test::reference_csv("oracle_metamerism_reflectances.csv");
    std::vector<std::array<Reflectance, 2>> result(csv.rows.size() / 2);
    for (const std::vector<std::string>& row : csv.rows) {
        // The kind 'metamer, off' holds a comma: count from the end.
        const std::size_t first = row.size() - 81;
        SpectrumTable table{380, 5, {}};
        for (std::size_t k = first; k < row.size(); ++k) table.value.push_back(std::stod(row[k]));
        const Result<Reflectance> r = reflectance(table, "pair");
        if (!r) throw std::runtime_error(describe(r.error()));
        result.at(std::stoul(row[0]) - 1).at(std::stoul(row[first - 1]) - 1) = *r;
    }
    return result;
}

// Source: oracle_metamerism.csv, 5 decimals printed, reflectances rounded before use: 1e-5, the last digit rounded on both sides.
TEST(MetamerismIndex, AgreesWithTheOracle) {
    const Csv csv = test::reference_csv("oracle_metamerism.csv");
    const auto surfaces = pairs();
    const Light d65 = cut("D65");
    Worst plain, index76, index00;
    for (const char* name : {"A", "F11", "LED-B1", "LED-B3", "LED-V1"}) {
        const Light under = cut(name);
        for (std::size_t i = 0; i < csv.rows.size(); ++i) {
            const auto& [a, b] = surfaces.at(static_cast<std::size_t>(csv.number(i, "pair")) - 1);
            const PairUnderLight p = pair_under_light(a, b, d65, under, csv.text(i, "observer") == "2" ? Observer::degree2 : Observer::degree10);
            const std::string where = std::string(name) + ", pair " + csv.text(i, "pair") + ", " + csv.text(i, "observer"), n = name;
            plain.see(std::abs(p.de00 - csv.number(i, n + "_de2000")), where);
            index76.see(std::abs(p.index_1976 - csv.number(i, n + "_index_de76")), where);
            index00.see(std::abs(p.index_2000 - csv.number(i, n + "_index_de2000")), where);
            EXPECT_NEAR(difference_2000(p.a, p.b), p.de00, 1e-12);
        }
    }
    for (std::size_t i = 0; i < csv.rows.size(); ++i) {
        const auto& [a, b] = surfaces.at(static_cast<std::size_t>(csv.number(i, "pair")) - 1);
        const PairUnderLight p = pair_under_light(a, b, d65, d65, csv.text(i, "observer") == "2" ? Observer::degree2 : Observer::degree10);
        plain.see(std::abs(p.de00 - csv.number(i, "D65_de2000")), "D65, pair " + csv.text(i, "pair"));
        EXPECT_NEAR(p.index_2000, 0, 1e-9) << "under the reference light itself nothing is left";
    }
    plain.report("oracle_metamerism.csv, dE2000", 1e-5);
    index76.report("oracle_metamerism.csv, index, dE*ab", 1e-5);
    index00.report("oracle_metamerism.csv, index, dE2000", 1e-5);
}

TEST(MetamerismIndex, OfBlackIsFinite) {
    Reflectance black, gray;
    gray.value.fill(0.2);
    const PairUnderLight p = pair_under_light(gray, black, cut("D65"), cut("A"), Observer::degree2);
    EXPECT_TRUE(std::isfinite(p.de00) && std::isfinite(p.index_1976) && std::isfinite(p.index_2000));
    // Two surfaces of one shape are no metamers: the correction takes all of it away.
    Reflectance half;
    half.value.fill(0.1);
    EXPECT_NEAR(pair_under_light(gray, half, cut("D65"), cut("F11"), Observer::degree2).index_1976, 0, 1e-9);
}

}  // namespace
}  // namespace sw
