#include "match/judge.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

#include "calibrate/figure.hpp"
#include "color/difference.hpp"
#include "match/component_sd.hpp"
#include "match/physical_bounds.hpp"

namespace sw {
namespace {

Lab middle_of(const PairColor& p, const Xyz& white) { return lab_of((p.chip + p.swatch) / 2, white); }
Weights weights_of(const CompareOptions& options) { return {options.textured ? 2.0 : 1.0, 1, 1}; }

Flag flag_of(double de00, const CompareOptions& options) {
    return de00 < options.holds_below ? Flag::holds : de00 <= options.breaks_above ? Flag::shifts : Flag::breaks;
}

PairUnder row(const Light& light, Kind kind, const PairColor& p, const CompareOptions& options) {
    const Xyz white = xyz(light, options.observer);
    const DifferenceDistribution difference = p.distribution(middle_of(p, white), weights_of(options));
    PairUnder under;
    under.light = light.name;
    under.kind = kind;
    under.de00 = difference.median();
    under.ci95 = difference.ci95();
    under.breaks_probability = difference.exceeds(options.breaks_above);
    under.flag = flag_of(under.de00, options);
    under.flag_sure = flag_of(under.ci95.low, options) == under.flag && flag_of(under.ci95.high, options) == under.flag;
    under.chip = lab_of(p.chip, white);
    under.swatch = lab_of(p.swatch, white);
    return under;
}

/// The pair as lit in one photo. Where the light is not named, a spread of lights stands for it: their mean, and their disagreement as doubt.
PairColor as_lit(const SensedPhoto& photo, const CompareOptions& options) {
    std::vector<TargetLight> targets;
    if (photo.lit_by) {
        targets.push_back({*photo.lit_by, options.observer});
    } else {
        for (const char* name : {"D50", "D65", "LED-B3", "LED-B1", "F11"}) targets.push_back({*light(name), options.observer});
    }
    const std::vector<PairColor> all = pair_posterior({photo.pair}, targets);
    PairColor p = all.front();
    if (all.size() == 1) return p;
    const auto count = static_cast<double>(all.size());
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (const PairColor& one : all) mean += one.d / count;
    for (const PairColor& one : all) p.part(Part::unnamed) += (one.d - mean) * (one.d - mean).transpose() / (count - 1);
    const Eigen::Vector3d middle = (p.chip + p.swatch) / 2;
    p.d = mean;
    p.chip = middle - mean / 2;
    p.swatch = middle + mean / 2;
    return p;
}

Eigen::Matrix3d sum_of(const PairColor& p, std::initializer_list<Part> parts) {
    Eigen::Matrix3d sum = 0.02 * 0.02 * Eigen::Matrix3d::Identity();  // no look is without doubt
    for (const Part part : parts) sum += p.part(part);
    return sum;
}

/// The weighted mean of repeats: what is random in them averages out, the rest stays as large as it is. Where they scatter more than they should, the
/// random parts grow by the ratio (Birge 1932, Phys. Rev. 40, 207).
PairColor mean_of(const std::vector<PairColor>& looks, std::initializer_list<Part> random) {
    if (looks.size() == 1) return looks.front();
    std::vector<Eigen::Matrix3d> weight;
    Eigen::Matrix3d total = Eigen::Matrix3d::Zero();
    for (const PairColor& look : looks) {
        weight.emplace_back(sum_of(look, random).inverse());
        total += weight.back();
    }
    const Eigen::Matrix3d share = total.inverse();
    PairColor mean;
    mean.kinds = looks.front().kinds;
    mean.d = mean.chip = Eigen::Vector3d::Zero();
    Eigen::Vector3d middle = Eigen::Vector3d::Zero();
    for (std::size_t k = 0; k < looks.size(); ++k) {
        weight[k] = share * weight[k];
        mean.d += weight[k] * looks[k].d;
        middle += (looks[k].chip + looks[k].swatch) / (2 * static_cast<double>(looks.size()));
    }
    double scatter = 0;
    for (const PairColor& look : looks) scatter += (look.d - mean.d).dot(sum_of(look, random).ldlt().solve(look.d - mean.d));
    const double birge = std::max(1.0, scatter / (3 * static_cast<double>(looks.size() - 1)));
    for (std::size_t p = 0; p < kParts; ++p) {
        const bool averages = std::any_of(random.begin(), random.end(), [&](Part r) { return static_cast<std::size_t>(r) == p; });
        for (std::size_t k = 0; k < looks.size(); ++k) {
            if (averages) {
                mean.parts[p] += birge * weight[k] * looks[k].parts[p] * weight[k].transpose();
            } else {
                mean.parts[p] += looks[k].parts[p] / static_cast<double>(looks.size());
            }
        }
    }
    mean.chip = middle - mean.d / 2;
    mean.swatch = middle + mean.d / 2;
    return mean;
}

constexpr std::initializer_list<Part> kRandomInPhoto{Part::noise};
constexpr std::initializer_list<Part> kRandomInLight{Part::noise, Part::field, Part::white};

/// Repeats that stand apart from the others by more than chance does (chi square, 3 degrees of freedom, 0.1 %), the farthest named.
void name_odd(const std::vector<PairColor>& looks, const std::vector<std::string>& names, const Lab& middle, const Weights& weights,
              std::vector<std::string>& notes) {
    constexpr double kOdd = 16.27;
    std::size_t odd = 0;
    double most = 0, apart = 0;
    for (std::size_t k = 0; k < looks.size(); ++k) {
        std::vector<PairColor> others = looks;
        others.erase(others.begin() + static_cast<std::ptrdiff_t>(k));
        Eigen::Matrix3d weight = Eigen::Matrix3d::Zero();
        Eigen::Vector3d d = Eigen::Vector3d::Zero();
        for (const PairColor& other : others) {
            const Eigen::Matrix3d w = sum_of(other, kRandomInLight).inverse();
            weight += w;
            d += w * other.d;
        }
        const Eigen::Matrix3d left = weight.inverse();
        const Eigen::Vector3d off = looks[k].d - left * d;
        const double far = off.dot((left + sum_of(looks[k], kRandomInLight)).ldlt().solve(off));
        if (far <= most) continue;
        most = far;
        odd = k;
        apart = difference_about(middle, off, weights);
    }
    if (most < kOdd) return;
    if (looks.size() == 2) {
        notes.push_back("The two looks at the pair (" + names[0] + "; " + names[1] + ") disagree by " + figure(apart, 1) +
                        ", more than their grain and light explain. Both are kept and the range is wider for it: look for glare, shadow or dust, "
                        "and take a third.");
    } else {
        notes.push_back(names[odd] + " stands apart from the other looks at the pair by " + figure(apart, 1) +
                        ". It is kept, and the range is wider for it: look for glare, shadow, dust or a wrong region, and leave it out if you find "
                        "one.");
    }
}

struct Circumstances {
    bool chart = false, reference = true, several = false;
};

std::vector<ErrorPart> budget_of(const PairColor& p, const Interval& ci95, const Lab& middle, const Weights& weights, const Circumstances& c) {
    std::vector<ErrorPart> budget;
    const auto add = [&](Part part, const char* name, const char* advice) {
        PairColor without = p;
        without.part(part).setZero();
        if (part == Part::unlike) without.part(part) = 0.05 * 0.05 * Eigen::Matrix3d::Identity();
        const double size = size_in_de00(middle, p.part(part), weights);
        budget.push_back({name, size, advice, size < 0.01 ? ci95 : without.distribution(middle, weights).ci95()});
    };
    add(Part::noise, "grain and texture", "mark larger, plain parts of chip and swatch, and use more light");
    add(Part::field, "uneven light between chip and swatch",
        c.chart ? "put chip and swatch side by side, and the lamp farther away" : "put chip and swatch side by side, with the card touching both");
    add(Part::lamp, "the lamp's spectrum, known only by its box", "give the lamp's spectrum as a CSV file");
    add(Part::unnamed, "the light is not named", "say which light it is (lit-by)");
    add(Part::tone, "the camera's tone curve",
        c.chart ? "expose so that chip and swatch are neither very dark nor very light"
                : "put a 24-patch chart in the photo, or save the photo without the camera's picture style");
    add(Part::white, "white and exposure", c.reference ? "put the gray card next to the swatch" : "put a gray card in the photo");
    add(Part::camera, "color calibration of the camera",
        c.chart ? "expose the chart well and keep glare off it" : "put a 24-patch chart in the photo");
    add(Part::unlike, "a camera is not an eye, and unlike paints may trick it",
        c.several ? "a third light tells little more; a chart in each photo and an instrument would"
                  : "photograph the pair under a second light as well");
    std::stable_sort(budget.begin(), budget.end(), [](const ErrorPart& a, const ErrorPart& b) { return a.size > b.size; });
    return budget;
}

/// Chance that the difference goes the way of a unit vector: of a normal mixture.
double chance_of(const PairColor& p, const std::vector<Scatter>& scatter, const Eigen::Vector3d& way) {
    double chance = 0;
    for (const Scatter& one : scatter)
        chance += one.share * 0.5 * std::erfc(-way.dot(p.d) / std::sqrt(2 * std::max(way.dot((one.covariance + one.beyond) * way), 1e-12)));
    return chance;
}

std::string words_of(const std::vector<Direction>& directions, bool distinct, bool clearly) {
    if (!distinct) return "no difference that this photo could show";
    std::string text;
    for (const Direction& d : directions) {
        if (d.chance < kDirectionPerhaps) continue;
        text += (text.empty() ? "" : ", ") + std::string(d.chance >= kDirectionSure && clearly ? "" : "perhaps ") + d.word;
    }
    return text.empty() ? "not sure which way" : text;
}

Difference difference_of(const PairColor& p, const Xyz& white, const CompareOptions& options, const Circumstances& circumstances) {
    const Lab chip = lab_of(p.chip, white), swatch = lab_of(p.swatch, white), middle = middle_of(p, white);
    const Weights weights = weights_of(options);
    const DifferenceDistribution distribution = p.distribution(middle, weights);
    Difference difference;
    difference.de00 = distribution.median();
    difference.ci95 = distribution.ci95();
    difference.textured = options.textured;
    difference.tolerance = options.tolerance;
    difference.chance_beyond = distribution.exceeds(options.tolerance);
    difference.verdict = verdict_of(difference.ci95, options.tolerance);
    for (const auto& [name, limit] : kThresholds)
        difference.thresholds.push_back({name, limit, verdict_of(difference.ci95, limit), distribution.exceeds(limit)});
    const Components parts = components(chip, swatch);
    difference.dL = parts.dL;
    difference.dC = parts.dC;
    difference.dH = parts.dH;
    Eigen::Matrix3d s = Eigen::Matrix3d::Zero();
    std::vector<Scatter> likely = p.scatter();
    for (std::size_t k = 0; k < likely.size(); ++k) {
        likely[k].share = distribution.shares()[k];
        s += likely[k].share * likely[k].covariance;
    }
    const std::array<double, 3> sd = component_sd(middle, s);
    difference.dL_sd = sd[0];
    difference.dC_sd = sd[1];
    difference.dH_sd = sd[2];
    for (const DifferenceStep& step : difference_steps(chip, swatch))
        difference.directions.push_back({step.word, std::max(0.5, chance_of(p, likely, {step.L, step.a, step.b}))});
    // Of a hundred equal pairs one half may read as far apart as what is called clear.
    difference.words = words_of(difference.directions, distribution.distinct(), distribution.same() < 0.005);
    difference.budget = budget_of(p, difference.ci95, middle, weights, circumstances);
    difference.largest_error = difference.budget.front().name;
    difference.advice = (difference.verdict == Verdict::not_resolved ? "not resolved: " : "to know it better: ") + difference.budget.front().advice;
    return difference;
}

/// Chi square with 3 degrees of freedom that 2.5 % exceed, for paints of different kind: beyond it a pair's spectra are called unusual.
constexpr double kUnusual = 9.35, kUsualAlike = 0.5;

/// Lights that a hobbyist can get hold of.
struct Candidate {
    const char *light, *where;
};
constexpr std::array<Candidate, 6> kCandidates{{{"D65", "daylight at a window, overcast"},
                                                {"D50", "daylight at a window, sun"},
                                                {"A", "a filament or halogen bulb"},
                                                {"LED-B1", "a warm white LED, 2700 K"},
                                                {"LED-B3", "a neutral white LED, 4000 K"},
                                                {"LED-B5", "a cold white LED, 6500 K"}}};

const std::vector<TargetLight>& candidates(Observer observer) {
    const auto make = [](Observer eye) {
        std::vector<TargetLight> all;
        for (const Candidate& c : kCandidates) all.push_back({*light(c.light), eye});
        return all;
    };
    static const std::vector<TargetLight> two = make(Observer::degree2), ten = make(Observer::degree10);
    return observer == Observer::degree2 ? two : ten;
}

/// What a second photo, as good as the first, would leave open under the lights asked for: the covariance of a Gaussian does not hang on what is
/// read, so it can be told before.
void expect_second_light(const SensedPhoto& photo, const PairColor& here, const std::vector<TargetLight>& targets, const CompareOptions& options,
                         Comparison& result) {
    const SensedPair& p = photo.pair;
    std::vector<const LibraryView*> goals;
    for (const TargetLight& t : targets) goals.push_back(&t.view);
    // The mean over both kinds of pair.
    double unlike = 0;
    for (const PairKind& kind : kPairKindsElsewhere) unlike += kind.share * (1 - kind.alike);
    const Eigen::Matrix3d own = p.chip.noise + p.swatch.noise;
    const Eigen::Matrix3d again = here.covariance(1 - unlike);  // of a photo of the same kind, its camera standing for an eye
    const Neighborhood near = neighborhood({&p.calibration.sensor->view()}, {p.middle()});
    const auto left = [&](const LibraryView* second) {
        std::vector<const LibraryView*> views{&p.calibration.sensor->view()};
        std::vector<Eigen::Vector3d> at{p.middle()};
        Eigen::MatrixXd noise = own;
        if (second != nullptr) {
            views.push_back(second);
            const LocalMap guess = local_map(near, {views.front()}, {at.front()}, own, {second});
            at.emplace_back(guess.mean);
            noise = Eigen::MatrixXd::Zero(6, 6);
            noise.topLeftCorner<3, 3>() = own / unlike;  // all in the scale of one surface's residual: see below
            noise.bottomRightCorner<3, 3>() = again / unlike;
        } else {
            noise /= unlike;
        }
        noise /= 2 * kSpread;
        const LocalMap map = local_map(near, views, at, noise, goals);
        double sum = 0;
        for (std::size_t t = 0; t < targets.size(); ++t) {
            const auto row = 3 * static_cast<Eigen::Index>(t);
            const Eigen::MatrixXd gain = map.gain.middleRows<3>(row);
            const Eigen::Matrix3d s = 2 * kSpread * unlike * (map.residual.block<3, 3>(row, row) + gain * noise * gain.transpose());
            const double size =
                size_in_de00(lab_of(map.mean.segment<3>(row), xyz(targets[t].light, options.observer)), nearest_psd(s), weights_of(options));
            sum += size * size / static_cast<double>(targets.size());
        }
        return std::sqrt(sum);
    };
    result.elsewhere_sd = left(nullptr);
    for (std::size_t k = 0; k < kCandidates.size(); ++k) {
        const Candidate& c = kCandidates[k];
        if (photo.lit_by && photo.lit_by->name == c.light) continue;
        result.second_light.push_back({c.light, c.where, left(&candidates(options.observer)[k].view)});
    }
    std::stable_sort(result.second_light.begin(), result.second_light.end(), [](const SecondLight& a, const SecondLight& b) { return a.sd < b.sd; });
}

}  // namespace

Comparison judge(std::vector<SensedPhoto> photos, const CompareOptions& asked) {
    CompareOptions options = asked;
    if (options.under.empty()) {
        for (const char* name : {"D65", "A", "LED-B3"}) options.under.push_back(*light(name));
    }
    // Looks under one light, or in one photo, belong together.
    std::vector<std::vector<std::size_t>> groups;
    for (std::size_t k = 0; k < photos.size(); ++k) {
        const auto fits = [&](const std::vector<std::size_t>& group) {
            const SensedPhoto& other = photos[group.front()];
            const bool same_light = photos[k].lit_by && other.lit_by && photos[k].lit_by->name == other.lit_by->name;
            return same_light || (photos[k].pair.photo >= 0 && photos[k].pair.photo == other.pair.photo);
        };
        const auto group = std::find_if(groups.begin(), groups.end(), fits);
        if (group == groups.end()) {
            groups.push_back({k});
        } else {
            group->push_back(k);
        }
    }
    for (std::size_t g = 0; g < groups.size(); ++g) {
        for (const std::size_t k : groups[g]) photos[k].pair.light = static_cast<int>(g);
    }
    Comparison result;
    const Weights weights = weights_of(options);
    std::vector<PairColor> seen;
    for (const std::vector<std::size_t>& group : groups) {
        std::vector<PairColor> looks, by_photo;
        std::vector<std::string> names;
        std::vector<int> of;
        for (const std::size_t k : group) {
            looks.push_back(as_lit(photos[k], options));
            names.push_back(photos[k].name);
            of.push_back(photos[k].pair.photo >= 0 ? photos[k].pair.photo : -1 - static_cast<int>(k));
        }
        std::vector<bool> done(looks.size(), false);
        for (std::size_t i = 0; i < looks.size(); ++i) {
            if (done[i]) continue;
            std::vector<PairColor> together;
            for (std::size_t j = i; j < looks.size(); ++j) {
                if (of[j] != of[i]) continue;
                together.push_back(looks[j]);
                done[j] = true;
            }
            by_photo.push_back(mean_of(together, kRandomInPhoto));
        }
        seen.push_back(mean_of(by_photo, kRandomInLight));
        const std::optional<Light>& lit_by = photos[group.front()].lit_by;
        if (looks.size() > 1)
            name_odd(looks, names, middle_of(seen.back(), xyz(lit_by ? *lit_by : *light("D50"), options.observer)), weights, result.notes);
    }
    const SensedPhoto& first = photos.front();
    const Light stated = first.lit_by ? *first.lit_by : *light("D50");
    result.lit_by = first.lit_by ? first.lit_by->name : "unknown light";
    result.difference = difference_of(seen.front(), xyz(stated, options.observer), options, {first.chart, first.reference, groups.size() > 1});

    for (std::size_t g = 0; g < groups.size(); ++g) {
        const std::optional<Light>& lit_by = photos[groups[g].front()].lit_by;
        if (!lit_by) continue;
        PairUnder under = row(*lit_by, Kind::seen, seen[g], options);
        under.bounds = under.ci95;  // it was looked at: nothing is left to physics
        result.lights.push_back(under);
    }
    std::vector<TargetLight> targets;
    for (const Light& l : options.under) {
        const bool already = std::any_of(result.lights.begin(), result.lights.end(), [&](const PairUnder& one) { return one.light == l.name; });
        if (!already) targets.push_back({l, options.observer});
    }
    if (!targets.empty()) {
        std::vector<SensedPair> pairs;
        for (const SensedPhoto& photo : photos) pairs.push_back(photo.pair);
        const std::vector<PairColor> elsewhere = pair_posterior(pairs, targets, true);
        for (std::size_t i = 0; i < targets.size(); ++i) {
            PairUnder inferred = row(targets[i].light, Kind::inferred, elsewhere[i], options);
            const SensedPair& one = first.pair;
            inferred.bounds = physical_bounds(one.calibration.sensor->rows(), one.chip.scene, one.swatch.scene, targets[i].light, options.observer);
            result.lights.push_back(inferred);
        }
    }
    for (std::size_t g = 1; g < groups.size(); ++g) {
        // Where a photo reads otherwise than the one before lets expect of usual paints: it is believed, and said.
        const SensedPhoto &before = photos[groups.front().front()], &now = photos[groups[g].front()];
        if (surprise({before.pair}, now.pair).chi_square(kUsualAlike) < kUnusual) continue;
        result.unusual = true;
        std::string said;
        if (now.lit_by) {
            const TargetLight target{*now.lit_by, options.observer};
            const PairUnder expected = row(*now.lit_by, Kind::inferred, pair_posterior({before.pair}, {target}, true).front(), options);
            const auto read =
                std::find_if(result.lights.begin(), result.lights.end(), [&](const PairUnder& one) { return one.light == now.lit_by->name; });
            said = ": under " + now.lit_by->name + " the pair was seen " + figure(read->de00, 1) + " apart, where " +
                   (before.lit_by ? "the photo under " + before.lit_by->name : std::string("the first photo")) + " let expect " +
                   figure(expected.de00, 1) + " (" + figure(expected.ci95.low, 1) + " to " + figure(expected.ci95.high, 1) + ")";
        }
        result.notes.push_back(
            "An unusual pair" + said +
            ". What was seen is trusted; the two spectra differ more than those of usual paints, and the figures for further lights "
            "are wider for it.");
    }
    if (groups.size() == 1) {
        std::string note =
            "One photo under one light cannot see metamerism: the figures for other lights are inferred, for paints not chosen to trick the light, "
            "and wide. Photograph the pair again under the light that matters and compare both.";
        if (!targets.empty()) {
            expect_second_light(first, seen.front(), targets, options, result);
            const SecondLight& best = result.second_light.front();
            note = note.substr(0, note.find(" under the light that matters")) + " under " + best.light + " (" + best.where +
                   "), which would tell most: the doubt under the lights asked for would fall from \u00b1" + figure(result.elsewhere_sd, 1) +
                   " to \u00b1" + figure(best.sd, 1) + "; compare both.";
        }
        result.notes.push_back(note);
    }
    return result;
}

}  // namespace sw
