#include "match/doubtful_light.hpp"

#include "color/quantile.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace sw {
namespace {

std::size_t draws(const Light& light) { return light.may_be ? light.may_be->size() : 0; }

Light drawn(const Light& light, std::size_t i) {
    Light one{light.name, light.power, {}};
    if (draws(light) > 0) one.power = (*light.may_be)[i % light.may_be->size()];
    return one;
}

class Deviation {
public:
    void take(double value) {
        ++count_;
        const double step = value - mean_;
        mean_ += step / count_;
        squares_ += step * (value - mean_);
    }
    [[nodiscard]] double sd() const { return count_ > 1 ? std::sqrt(squares_ / (count_ - 1)) : 0; }

private:
    double count_ = 0, mean_ = 0, squares_ = 0;
};

Interval central95(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return {quantile_of_sorted(values, 0.025), quantile_of_sorted(values, 0.975)};
}

}  // namespace

WhiteSd white_sd(const Light& light, Observer observer) {
    std::array<Deviation, 7> d;
    for (std::size_t i = 0; i < draws(light); ++i) {
        const Xyz white = xyz(drawn(light, i), observer);
        const Xy at = xy(white);
        const UvPrime uniform = uv_prime(white);
        const std::array<double, 7> values{white.X, white.Y, white.Z, at.x, at.y, uniform.u, uniform.v};
        for (std::size_t k = 0; k < values.size(); ++k) d[k].take(values[k]);
    }
    return {{d[0].sd(), d[1].sd(), d[2].sd()}, {d[3].sd(), d[4].sd()}, {d[5].sd(), d[6].sd()}};
}

std::optional<PairRange> pair_range(const Reflectance& a, const Reflectance& b, const Light& reference, const Light& test, Observer observer,
                                    Correction correction) {
    const std::size_t count = std::max(draws(reference), draws(test));
    if (count == 0) return std::nullopt;
    // Two lamps of one ensemble's making may list like members at like places: half the list apart they have nothing in common.
    const std::size_t apart = reference.name == test.name ? 0 : draws(test) / 2;
    std::vector<double> de00, index_1976, index_2000;
    std::array<Deviation, 6> d;
    for (std::size_t i = 0; i < count; ++i) {
        const PairUnderLight pair = pair_under_light(a, b, drawn(reference, i), drawn(test, i + apart), observer, correction);
        de00.push_back(pair.de00);
        index_1976.push_back(pair.index_1976);
        index_2000.push_back(pair.index_2000);
        const std::array<double, 6> values{pair.a.L, pair.a.a, pair.a.b, pair.b.L, pair.b.a, pair.b.b};
        for (std::size_t k = 0; k < values.size(); ++k) d[k].take(values[k]);
    }
    const Xyz white = xyz(test, observer);
    return PairRange{central95(std::move(de00)),
                     central95(std::move(index_1976)),
                     central95(std::move(index_2000)),
                     {d[0].sd(), d[1].sd(), d[2].sd(), white},
                     {d[3].sd(), d[4].sd(), d[5].sd(), white}};
}

}  // namespace sw
