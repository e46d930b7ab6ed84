#include "calibrate/light_report.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "calibrate/figure.hpp"

namespace sw {
namespace {

using Figure = LightReport::Figure;

const Eigen::RowVector3d kLuminance(0.2126, 0.7152, 0.0722);  // ITU-R BT.709
constexpr double kClear = 2.5;                                // standard deviations that speak for themselves
constexpr int kPlaces = 9;                                    // in each direction, where the light is looked at

std::string percent(const Figure& f) {
    const int decimals = f.sd < 0.01 ? 1 : 0;
    return figure(100 * f.value, decimals) + " % \u00b1 " + figure(std::max(100 * f.sd, decimals == 1 ? 0.1 : 1.0), decimals) + " %";
}

/// The largest difference over the picture of a quantity that hangs linearly on the light's doubts, as a ratio less 1.
struct Extremes {
    Figure ratio;
    Point most, least;
};
Extremes extremes(const SensorModel& model, const Eigen::RowVector3d& weight) {
    const SensorSetup& setup = model.setup();
    Extremes result;
    double high = -std::numeric_limits<double>::infinity(), low = -high;
    for (int j = 0; j < kPlaces; ++j) {
        for (int i = 0; i < kPlaces; ++i) {
            const Point p{setup.width * (i + 0.5) / kPlaces, setup.height * (j + 0.5) / kPlaces};
            const double value = weight.dot(model.field(p));
            if (value > high) {
                high = value;
                result.most = p;
            }
            if (value < low) {
                low = value;
                result.least = p;
            }
        }
    }
    const Eigen::RowVectorXd step = weight * (model.field_by_doubts(result.most) - model.field_by_doubts(result.least));
    const Eigen::MatrixXd covariance = model.covariance().bottomRightCorner<doubt_count, doubt_count>();
    result.ratio.value = std::expm1(high - low);
    result.ratio.sd = (1 + result.ratio.value) * std::sqrt(std::max(0.0, (step * covariance * step.transpose())(0, 0)));
    return result;
}

/// A neutral as the search for local tone mapping sees it: how far its level stands from what it should be, logarithms.
struct Neutral {
    std::string name;
    Point at;
    double log_level, off, variance;
    int group = 0;
};

double distance(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y); }

std::vector<Neutral> neutrals_of(const Evidence& evidence, const SensorModel& model) {
    std::vector<Neutral> list;
    for (const SeenReference& r : evidence.references) {
        const double level = kLuminance.dot(model.rows() * r.color.reflectance), seen = kLuminance.dot(model.scene(r.color.rgb, r.color.at));
        if (!is_neutral(r.color) || !(seen > 1e-4) || !(level > 1e-4)) continue;
        const double noise =
            std::sqrt((kLuminance * r.color.rgb_covariance * kLuminance.transpose())(0, 0)) / std::max(1e-6, kLuminance.dot(r.color.rgb));
        // 0.01: a card is not quite flat in the light, a patch not quite its table; 0.003: haze differs a little over the picture. Common practice.
        const double variance = noise * noise + r.color.tolerance * r.color.tolerance + 0.01 * 0.01 + std::pow(0.003 / level, 2);
        list.push_back({r.color.name, r.color.at, std::log(level), std::log(seen / level), variance, 0});
    }
    // near neighbors make a group: a chart is one, cards side by side are one
    const double near = 0.15 * std::max(evidence.setup.width, evidence.setup.height);
    for (std::size_t i = 0; i < list.size(); ++i) list[i].group = static_cast<int>(i);
    for (bool changed = true; changed;) {
        changed = false;
        for (Neutral& a : list) {
            for (Neutral& b : list) {
                if (a.group > b.group && distance(a.at, b.at) < near) {
                    a.group = b.group;
                    changed = true;
                }
            }
        }
    }
    return list;
}

/// How steeply the neutrals of one place rise beyond what the common curve says.
struct Steepness {
    double value = 0, variance = 0;
    Point at{0, 0};
};
std::optional<Steepness> steepness(const std::vector<Neutral>& list, int group) {
    double weight = 0, x = 0, y = 0, xx = 0, xy = 0, low = 1e9, high = -1e9, count = 0;
    Steepness s;
    for (const Neutral& n : list) {
        if (n.group != group) continue;
        const double w = 1 / n.variance;
        weight += w;
        x += w * n.log_level;
        y += w * n.off;
        low = std::min(low, n.log_level);
        high = std::max(high, n.log_level);
        s.at.x += n.at.x;
        s.at.y += n.at.y;
        ++count;
    }
    if (count < 2 || high - low < 0.7) return std::nullopt;  // two levels, a factor of 2 apart
    s.at = {s.at.x / count, s.at.y / count};
    for (const Neutral& n : list) {
        if (n.group != group) continue;
        xx += (n.log_level - x / weight) * (n.log_level - x / weight) / n.variance;
        xy += (n.log_level - x / weight) * (n.off - y / weight) / n.variance;
    }
    s.value = xy / xx;
    s.variance = 1 / xx;
    return s;
}

/// Two places whose neutrals want different curves: by steepness where both have two levels, else by cards of one level that stand
/// differently against one plain surrounding.
std::optional<LocalTone> local_tone_of(const Evidence& evidence, const SensorModel& model) {
    constexpr double kTones = 0.08, kCards = 0.12;  // what is worth a word: 8 % steeper, 12 % apart; our own judgment
    constexpr double kSure = 4;
    const std::vector<Neutral> list = neutrals_of(evidence, model);
    std::optional<LocalTone> worst;
    const auto see = [&](const LocalTone& found, double least) {
        if (found.apart.value > std::max(least, kSure * found.apart.sd) && (!worst || found.apart.value > worst->apart.value)) worst = found;
    };
    std::vector<int> groups;
    for (const Neutral& n : list) {
        if (std::find(groups.begin(), groups.end(), n.group) == groups.end()) groups.push_back(n.group);
    }
    for (std::size_t i = 0; i < groups.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            const std::optional<Steepness> a = steepness(list, groups[j]), b = steepness(list, groups[i]);
            if (!a || !b) continue;
            see({{std::abs(a->value - b->value), std::sqrt(a->variance + b->variance)}, a->at, b->at, true}, kTones);
        }
    }
    const double near = 0.25 * std::max(evidence.setup.width, evidence.setup.height);
    for (const PlainArea& area : evidence.plain) {
        const auto beside = [&](const Neutral& n) -> std::optional<double> {  // logarithm of the surrounding about a card
            double sum = 0, weight = 0;
            for (const PlainArea::Block& block : area.blocks) {
                const double d = distance(block.at, n.at), value = kLuminance.dot(model.scene(block.rgb, block.at));
                if (d > near || block.weight < 0.5 || !(value > 1e-4)) continue;
                const double w = 1 / (1 + std::pow(d / (0.3 * near), 2));
                sum += w * std::log(value);
                weight += w;
            }
            return weight > 1 ? std::optional<double>(sum / weight) : std::nullopt;
        };
        for (std::size_t i = 0; i < list.size(); ++i) {
            for (std::size_t j = 0; j < i; ++j) {
                const Neutral &a = list[j], &b = list[i];
                if (a.group == b.group || std::abs(a.log_level - b.log_level) > 0.1) continue;
                const std::optional<double> at_a = beside(a), at_b = beside(b);
                if (!at_a || !at_b) continue;
                const double apart = (a.off - *at_a) - (b.off - *at_b);
                see({{std::abs(apart), std::sqrt(a.variance + b.variance + 2 * 0.01 * 0.01)}, a.at, b.at, false}, kCards);
            }
        }
    }
    return worst;
}

}  // namespace

std::string place_word(const SensorSetup& setup, Point p) {
    const auto third = [](double at, double size) { return at < size / 3 ? 0 : at > 2 * size / 3 ? 2 : 1; };
    const int x = third(p.x, setup.width), y = third(p.y, setup.height);
    const char* const across = x == 0 ? "left" : x == 2 ? "right" : "";
    const char* const down = y == 0 ? "upper" : y == 2 ? "lower" : "";
    if (x == 1 && y == 1) return "middle";
    if (y == 1) return across;
    if (x == 1) return y == 0 ? "top" : "bottom";
    return std::string(down) + " " + across;
}

LightReport light_report_of(const Evidence& evidence, const SensorModel& model, std::vector<std::string>& warnings) {
    LightReport report;
    const bool seen = evidence.references.size() >= 8 || !evidence.plain.empty();
    if (evidence.references.empty()) return report;

    if (evidence.setup.black_and_white) {
        report.veil = Figure{model.doubts()[flare], std::sqrt(std::max(0.0, model.covariance()(kSensitivitySize + flare, kSensitivitySize + flare)))};
        const LightReport::Figure& veil = *report.veil;
        report.lines.push_back(veil.value > 2 * veil.sd
                                   ? "veiling light " + percent(veil) + " of white, taken out"
                                   : "veiling light: none to be seen, below " +
                                         figure(100 * std::max(0.001, std::max(0.0, veil.value) + 2 * veil.sd), 1) + " % of white");
        if (report.veil->value > 0.02 && report.veil->value > kClear * report.veil->sd) {
            warnings.push_back("veiling light lies over the picture, " + percent(*report.veil) +
                               " of white: a bright window in view, a dirty lens or haze; it is taken out, but dark colors stay uncertain; shade the "
                               "lens and photograph again");
        }
    }

    const Extremes level = extremes(model, kLuminance), tint = extremes(model, Eigen::RowVector3d(1, 0, -1));
    report.uneven = level.ratio;
    report.tint = tint.ratio;
    report.brightest = place_word(evidence.setup, level.most);
    report.warmest = place_word(evidence.setup, tint.most);
    const auto clear = [](const Figure& f) { return f.value > kClear * f.sd; };
    report.field_known = (seen || evidence.references.size() >= 3) &&  // one card tells little of the whole picture
                         ((clear(report.uneven) && report.uneven.value > 0.03) || (clear(report.tint) && report.tint.value > 0.03));
    if (clear(report.uneven)) {
        report.lines.push_back("the light at the " + report.brightest + " is " + percent(report.uneven) + " stronger than at the " +
                               place_word(evidence.setup, level.least));
    }
    if (seen && clear(report.uneven) && report.uneven.value > 0.5) {
        warnings.push_back("the light is too uneven: " + percent(report.uneven) + " stronger at the " + report.brightest + " than at the " +
                           place_word(evidence.setup, level.least) +
                           "; move the lamp back, and keep the parts near the references or mark a plain surrounding (--plain)");
    }
    if (clear(report.tint) && report.tint.value > 0.02) {
        report.lines.push_back("the light is warmer at the " + report.warmest + ": red against blue " + percent(report.tint) + " more than at the " +
                               place_word(evidence.setup, tint.least));
    }
    if (clear(report.tint) && report.tint.value > 0.05) {
        warnings.push_back("two lights in one picture: at the " + report.warmest + " it is warmer, red against blue " + percent(report.tint) +
                           " more than at the " + place_word(evidence.setup, tint.least) +
                           "; switch one off or shade the window, or keep the parts near the references");
    }
    report.local_tone = local_tone_of(evidence, model);
    if (report.local_tone) {
        const LocalTone& tone = *report.local_tone;
        const std::string where = place_word(evidence.setup, tone.first) + " and " + place_word(evidence.setup, tone.second);
        warnings.push_back((tone.by_curve ? "the picture was toned differently from place to place: neutrals at the " + where +
                                                " of it ask for curves " + percent(tone.apart) + " apart in steepness"
                                          : "the picture was toned differently from place to place: like cards at the " + where + " of it stand " +
                                                percent(tone.apart) + " differently against the same surrounding") +
                           " (HDR or a camera program that lifts shadows; or one card lies in a shadow or is tilted): colors by themselves are not "
                           "to be trusted, only "
                           "differences between near neighbors; switch HDR off, or take camera raw");
    }
    return report;
}

}  // namespace sw
