#include "mix/pigment.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <string>

#include "spectral/random.hpp"

namespace sw {
namespace {

double tenfold(Random& r, double low, double high) { return std::pow(10.0, r.uniform(low, high)); }

/// One member: K as edges and bands over a floor, S as a power of the wavelength.
struct Member {
    ModelSpectrum k = ModelSpectrum::Zero(), s = ModelSpectrum::Ones();
};

void add_edge(ModelSpectrum& k, double at, double width, double height) {  // absorbs below `at`
    for (int i = 0; i < kModelBands; ++i) k[i] += height / (1 + std::exp((model_nm(i) - at) / width));
}
void add_band(ModelSpectrum& k, double at, double width, double height) {
    for (int i = 0; i < kModelBands; ++i) k[i] += height * std::exp(-0.5 * std::pow((model_nm(i) - at) / width, 2));
}

PigmentClass some_class(Random& r) {
    static constexpr std::array<std::pair<PigmentClass, double>, 9> kShares{{{PigmentClass::white, 0.06},
                                                                             {PigmentClass::black, 0.08},
                                                                             {PigmentClass::yellow, 0.16},
                                                                             {PigmentClass::orange, 0.08},
                                                                             {PigmentClass::red, 0.15},
                                                                             {PigmentClass::violet, 0.10},
                                                                             {PigmentClass::blue, 0.14},
                                                                             {PigmentClass::green, 0.10},
                                                                             {PigmentClass::earth, 0.13}}};
    double left = r.uniform();
    for (const auto& [kind, share] : kShares) {
        if (left < share) return kind;
        left -= share;
    }
    return PigmentClass::earth;
}

Member member_of(PigmentClass kind, Random& r) {
    Member m;
    if (kind == PigmentClass::any) kind = some_class(r);
    const auto scatter = [&](double low, double high) {
        const double level = tenfold(r, low, high), slope = r.uniform(-1.6, 0.6);
        for (int i = 0; i < kModelBands; ++i) m.s[i] = level * std::pow(model_nm(i) / 555.0, slope);
    };
    const auto edge = [&](double from, double to, double narrow, double broad) {
        const double at = r.uniform(from, to), width = r.uniform(narrow, broad);
        add_edge(m.k, at, width, 1);
        if (r.uniform() < 0.5) {  // a window in the blue
            const double center = r.uniform(400, 450), wide = r.uniform(25, 50), depth = r.uniform(0, 0.6);
            ModelSpectrum hole = ModelSpectrum::Zero();
            add_band(hole, center, wide, depth);
            m.k = m.k.cwiseProduct(ModelSpectrum::Ones() - hole);
        }
    };
    const auto bands = [&](double from, double to, int most) {
        const int count = 1 + r.below(most);
        const double center = r.uniform(from, to);
        for (int b = 0; b < count; ++b) {
            const double off = b > 0 ? r.uniform(-60, 60) : 0, width = r.uniform(15, 50), height = r.uniform(0.3, 1);
            add_band(m.k, center + off, width, height);
        }
    };
    const auto blue_end = [&](double from, double to, double least, double most) {
        const double at = r.uniform(from, to), width = r.uniform(6, 22), height = r.uniform(least, most);
        add_edge(m.k, at, width, height);
    };
    double strength_low = -0.3, strength_high = 1.3, floor_low = -3.2, floor_high = -1.3, scatter_low = -1.7, scatter_high = 0.1;
    switch (kind) {
        case PigmentClass::white: {
            const double level = tenfold(r, -3.4, -2.2), at = r.uniform(375, 405), width = r.uniform(3, 10), height = r.uniform(0.2, 3);
            add_edge(m.k, at, width, height);
            m.k.array() += level;
            scatter(-0.4, 0.1);
            return m;
        }
        case PigmentClass::black: {
            const double slope = r.uniform(-0.5, 0.5), level = tenfold(r, 0, 1.4);
            for (int i = 0; i < kModelBands; ++i) m.k[i] = level * (1 + slope * (model_nm(i) - 555) / 175);
            scatter(-1.8, -0.4);
            return m;
        }
        case PigmentClass::yellow:
            edge(455, 530, 4, 16);
            break;
        case PigmentClass::orange:
            edge(515, 580, 4, 15);
            break;
        case PigmentClass::red:
            edge(560, 625, 4, 18);
            break;
        case PigmentClass::violet:
            bands(500, 590, 3);
            if (r.uniform() < 0.5) blue_end(390, 450, 0, 0.6);
            break;
        case PigmentClass::blue:
            bands(570, 690, 4);
            if (r.uniform() < 0.5) blue_end(385, 430, 0, 0.4);
            break;
        case PigmentClass::green:
            bands(600, 700, 3);
            blue_end(420, 490, 0.2, 1);
            break;
        case PigmentClass::earth:
            edge(470, 620, 12, 45);
            if (r.uniform() < 0.6) {
                const double at = r.uniform(600, 700), width = r.uniform(30, 80), height = r.uniform(0, 0.3);
                add_band(m.k, at, width, height);
            }
            strength_low = -0.5;
            strength_high = 1.0;
            floor_low = -2.3;
            floor_high = -0.5;
            scatter_low = -1.3;
            break;
        case PigmentClass::any:
            break;
    }
    const double strength = tenfold(r, strength_low, strength_high), floor = tenfold(r, floor_low, floor_high);
    m.k = strength * (m.k / m.k.maxCoeff() + ModelSpectrum::Constant(floor));
    scatter(scatter_low, scatter_high);
    return m;
}

}  // namespace

Result<PigmentClass> pigment_class(std::string_view index_name) {
    std::string letters, digits;
    for (const char c : index_name) {
        if (c == ' ' || c == '.' || c == ':') continue;
        if (std::isdigit(static_cast<unsigned char>(c)) != 0)
            digits += c;
        else if (digits.empty())
            letters += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    }
    const std::string name = letters + digits;
    for (const char* earth : {"PY42", "PY43", "PY119", "PR101", "PR102"}) {
        if (name == earth) return PigmentClass::earth;
    }
    if (name == "PR122" || name == "PV19") return PigmentClass::violet;
    for (const auto& [prefix, kind] : {std::pair{"PW", PigmentClass::white},
                                       {"PBK", PigmentClass::black},
                                       {"PY", PigmentClass::yellow},
                                       {"PO", PigmentClass::orange},
                                       {"PR", PigmentClass::red},
                                       {"PV", PigmentClass::violet},
                                       {"PB", PigmentClass::blue},
                                       {"PG", PigmentClass::green},
                                       {"PBR", PigmentClass::earth}}) {
        if (letters == prefix && !digits.empty() && digits.size() <= 4) return kind;
    }
    return Error{.fault = Fault::name_unknown,
                 .file = {},
                 .place = std::string(index_name),
                 .cause = "no generic name of a pigment",
                 .remedy = "give one as on the tube, as PW6 or PBk7, or leave it out"};
}

Eigen::MatrixXd pigment_members(PigmentClass kind, int count, std::uint64_t seed) {
    Random r(seed);
    Eigen::MatrixXd members(2 * kModelBands, count);
    for (int i = 0; i < count; ++i) {
        const Member m = member_of(kind, r);
        members.col(i) << m.k.array().max(1e-7).log().matrix(), m.s.array().log().matrix();
    }
    return members;
}

PigmentBelief pigment_belief(const Eigen::MatrixXd& members, const Eigen::VectorXd& weights) {
    const double all = weights.sum();
    PigmentBelief belief;
    belief.mean = members * weights / all;
    const Eigen::MatrixXd off = members.colwise() - belief.mean;
    belief.covariance = off * (weights / all).asDiagonal() * off.transpose();
    for (int i = 0; i < kModelBands; ++i) {
        for (int j = 0; j < kModelBands; ++j) {
            const double apart = (model_nm(i) - model_nm(j)) / 25.0, ripple = 0.0625 * std::exp(-0.5 * apart * apart) + (i == j ? 0.0009 : 0.0);
            belief.covariance(i, j) += ripple;
            belief.covariance(kModelBands + i, kModelBands + j) += ripple;
        }
    }
    return belief;
}

}  // namespace sw
