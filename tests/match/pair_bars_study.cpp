// How often the verdict's ranges hold, and how wide they are: simulated pairs of surfaces that nothing was learned from, through real cameras left
// out of the statistics, under lamps and daylight, with noise, haze, curves and uneven light. A small part runs always; SW_ALL_PAIRS=1 runs all.
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "calibrate/evidence.hpp"
#include "color/difference.hpp"
#include "learn/real_cameras.hpp"
#include "match/judge.hpp"
#include "spectral/random.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

bool all_pairs() { return std::getenv("SW_ALL_PAIRS") != nullptr; }
bool holds(const Interval& i, double value) { return i.low <= value + 1e-9 && value <= i.high; }

/// Lights as test programs want them: made once.
struct Lamp {
    Light light;
    ObserverMatrix to_xyz;
    ModelSpectrum power;
    explicit Lamp(const std::string& name)
        : light(*sw::light(name)), to_xyz(observer_matrix(light, Observer::degree2)), power(on_model_grid(light.power)) {}
    [[nodiscard]] Lab lab(const ModelSpectrum& r) const { return test::lab_of(r, to_xyz); }
};
const Lamp& lamp(const std::string& name) {
    static std::map<std::string, Lamp> made;
    return made.try_emplace(name, name).first->second;
}

// ---- surfaces

/// Kubelka-Munk with one constant over the 190 measured reflectances as colorants and a made-up white: shapes the library has not seen.
class Shelf {
public:
    explicit Shelf(Random& random) {
        static const std::vector<ModelSpectrum> paints = test::real_paints();
        for (int i = 0; i < 4; ++i) {
            const ModelSpectrum r = paints[static_cast<std::size_t>(random.below(static_cast<int>(paints.size())))].cwiseMax(0.004).cwiseMin(0.97);
            colorants_.emplace_back((1 - r.array()).square() / (2 * r.array()));
        }
        white_ = random.uniform(0.001, 0.006);
    }
    using Amounts = Eigen::Vector4d;
    static Amounts some(Random& random) {
        Amounts a;
        for (double& x : a) x = std::exp(1.2 * random.normal() - 1.5);
        return a;
    }
    [[nodiscard]] ModelSpectrum painted(const Amounts& a) const {
        Eigen::ArrayXd q = Eigen::ArrayXd::Constant(kModelBands, white_);
        for (int i = 0; i < 4; ++i) q += a[i] * colorants_[static_cast<std::size_t>(i)].array();
        q /= 1 + a.sum();
        return (0.012 + 0.97 * (1 + q - (q.square() + 2 * q).sqrt())).matrix();
    }
    /// Amounts that come as near to a color as they can, by damped Newton on their logarithms.
    [[nodiscard]] Amounts matched(const Lamp& under, const Lab& goal, Amounts a) const {
        const auto miss = [&](const Amounts& at) {
            const Lab c = under.lab(painted(at));
            return Eigen::Vector3d(c.L - goal.L, c.a - goal.a, c.b - goal.b);
        };
        for (int round = 0; round < 30; ++round) {
            const Eigen::Vector3d now = miss(a);
            if (now.norm() < 1e-4) break;
            Eigen::Matrix<double, 3, 4> slope;
            for (int i = 0; i < 4; ++i) {
                Amounts more = a;
                more[i] *= 1.001;
                slope.col(i) = (miss(more) - now) / 0.001;
            }
            const Eigen::Matrix4d normal = slope.transpose() * slope + 1e-3 * Eigen::Matrix4d::Identity();
            const Eigen::Vector4d step = normal.ldlt().solve(slope.transpose() * -now);
            a = a.array() * (step / std::max(1.0, step.cwiseAbs().maxCoeff() / 0.5)).array().exp();
        }
        return a;
    }

private:
    std::vector<ModelSpectrum> colorants_;
    double white_;
};

struct Pair {
    ModelSpectrum chip, swatch;
};
enum class Class { matched, off, metameric, other_way };

/// The chip plus a smooth reflectance that does not show under the lamp: a metameric black of a given peak; nothing where it leaves 0..1.
std::optional<ModelSpectrum> with_black(const ModelSpectrum& chip, const Lamp& under, double peak, Random& random) {
    ModelSpectrum wave = ModelSpectrum::Zero();
    for (int k = 0; k < 5; ++k) {
        const double at = random.uniform(400, 710), width = random.uniform(20, 45), height = random.normal();
        for (int i = 0; i < kModelBands; ++i) wave[i] += height * std::exp(-0.5 * std::pow((model_nm(i) - at) / width, 2));
    }
    const auto& m = under.to_xyz;
    const Eigen::Matrix3d inner = m * m.transpose();
    wave -= m.transpose() * inner.ldlt().solve(m * wave);
    wave *= peak / wave.cwiseAbs().maxCoeff();
    const ModelSpectrum sum = chip + wave;
    if (sum.minCoeff() < 0.003 || sum.maxCoeff() > 0.99) return std::nullopt;
    return sum;
}

Pair make_pair(Class kind, const Lamp& bench, Random& random, bool black_only = false) {
    for (;;) {
        const Shelf shelf(random);
        const Shelf::Amounts a = Shelf::some(random);
        const ModelSpectrum chip = shelf.painted(a);
        const Lamp& at = kind == Class::other_way ? lamp(bench.light.name == "D65" ? "LED-B3" : "D65") : bench;
        if (kind == Class::matched || kind == Class::off) {
            Shelf::Amounts b = a;
            const double by = kind == Class::matched ? 0.03 : 0.35;
            for (double& x : b) x *= std::exp(by * random.normal());
            const ModelSpectrum swatch = shelf.painted(b);
            const double de = difference_2000(bench.lab(chip), bench.lab(swatch));
            if (kind == Class::matched ? de < 1.2 : de > 2 && de < 10) return {chip, swatch};
            continue;
        }
        Lab goal = at.lab(chip);
        goal.L += 0.3 * random.normal();  // an eye's match
        goal.a += 0.3 * random.normal();
        goal.b += 0.3 * random.normal();
        ModelSpectrum swatch;
        if (black_only || random.uniform() < 0.5) {
            const auto black = with_black(chip, at, random.uniform(0.04, 0.12), random);
            if (!black) continue;
            swatch = *black;
        } else {
            const Shelf other(random);
            swatch = other.painted(other.matched(at, goal, Shelf::some(random)));
        }
        if (difference_2000(at.lab(chip), at.lab(swatch)) < 1.2) return {chip, swatch};
    }
}

// ---- photos

/// What is wrong with a photo, beside its camera.
struct Conditions {
    double noise = 0.002;      // relative, of a region's mean
    double slope = 0.05;       // of the light, logarithm per half picture
    double tint = 0.003;       // of its color
    double tolerance = 0.005;  // level of card and patches
};
constexpr Conditions kUsual, kHard{0.006, 0.15, 0.01, 0.01};

class Camera {
public:
    Camera(std::size_t index, const Lamp& at, bool rendered, bool chart, bool named, const Conditions& conditions, Random& random)
        : conditions_(conditions), random_(random) {
        static const test::CameraTable all = test::real_cameras();
        rows_ = test::seen_by(all[index % all.size()], at.power);
        if (rendered) {
            Eigen::Matrix3d srgb;  // from XYZ under D50: IEC 61966-2-1 with the Bradford adaptation, white to (1, 1, 1) below
            srgb << 3.1339, -1.6169, -0.4906, -0.9788, 1.9161, 0.0335, 0.0719, -0.2290, 1.4052;
            Eigen::Matrix3d m = srgb * best_matrix(rows_, lamp("D50").to_xyz);
            m = m.rowwise().sum().cwiseInverse().asDiagonal() * m;
            rows_ = m * rows_;
            curve_ = {0.12 + 0.06 * random.normal(), 0.05 * random.normal(), 0.05 * random.normal(), {}};
        }
        linear_ = !rendered;
        gains_ = 0.6 * Eigen::Vector3d(1 + 0.08 * random.normal(), 1, 1 + 0.08 * random.normal());
        flare_ = std::abs(0.003 + 0.002 * random.normal());
        for (double& x : slope_) x = conditions.slope * random.normal();
        for (double& x : tint_) x = conditions.tint * random.normal();

        test::CameraTable others = all;
        others.erase(others.begin() + static_cast<std::ptrdiff_t>(index % all.size()));
        std::optional<Light> lit_by;
        if (named) lit_by = at.light;
        Evidence evidence;
        evidence.method = chart ? "24-patch chart" : "neutral";
        SensorSetup& setup = evidence.setup;
        setup.width = setup.height = 1000;
        setup.linear = linear_;
        setup.lit_by = lit_by;
        evidence.rendering = rendered ? Rendering::rendered : Rendering::raw;
        setup.prior = sensitivity_prior(lit_by, evidence.rendering, test::learn_statistics(others, 10));
        const auto add = [&](const ModelSpectrum& r, Point place) {
            const RegionStatistics read = look(r * (1 + conditions.tolerance * random.normal()), place);
            ReferenceColor color{"reference", read.mean, read.covariance, place, r, {}, 0.005};
            evidence.references.push_back({color, lamp("D50").lab(r), Box{place.x, place.y, 1, 1}});
        };
        if (!chart) {
            add(ModelSpectrum::Constant(0.18), {250, 500});
            evidence.slopes.push_back(slope(ModelSpectrum::Constant(0.18), {250, 500}));
        }
        for (int p = 0; chart && p < 24; ++p) add(chart_reflectances().col(p), {200 + 40.0 * (p % 6), 300 + 40.0 * (p / 6)});  // NOLINT
        setup.black_and_white = chart;
        setup.free_curve = chart;
        calibration_ = fit(evidence);
        chart_ = chart;
        lit_by_ = lit_by;
    }
    [[nodiscard]] Eigen::Vector3d picture_of(const ModelSpectrum& r, Point at) const {
        const double x = (at.x - 500) / 500, y = (at.y - 500) / 500, level = slope_[0] * x + slope_[1] * y;
        const Eigen::Array3d field(level + tint_[0] * x, level, level + tint_[1] * x);
        Eigen::Vector3d v = gains_.array() * ((rows_ * r).array() * field.exp() + flare_);
        for (double& c : v) {
            if (!linear_) c = picture(c);
        }
        return v;
    }
    [[nodiscard]] RegionStatistics look(const ModelSpectrum& r, Point at) const {
        RegionStatistics read;
        Eigen::Vector3d v = picture_of(r, at);
        for (double& c : v) c *= 1 + conditions_.noise * random_.normal();
        read.mean = v;
        read.covariance = (conditions_.noise * v).cwiseAbs2().asDiagonal();
        read.gradient = 0.2 * conditions_.slope;
        return read;
    }
    /// How the light slopes over a flat thing of 120 pixels, as its blocks show it: each has eight times the noise of the mean.
    [[nodiscard]] LightSlope slope(const ModelSpectrum& r, Point at) const {
        const auto level = [&](double dx, double dy) {
            return std::log(Eigen::Vector3d(0.2126, 0.7152, 0.0722).dot(picture_of(r, {at.x + dx, at.y + dy})));
        };
        const double sd = conditions_.noise / (120 / std::sqrt(12.0));
        return {at,
                {(level(1, 0) - level(-1, 0)) / 2 + sd * random_.normal(), (level(0, 1) - level(0, -1)) / 2 + sd * random_.normal()},
                sd * sd * Eigen::Matrix2d::Identity(),
                std::exp(level(0, 0))};
    }
    [[nodiscard]] SensedPhoto photo(const Pair& pair) const {
        const Point chip{550, 520}, swatch{680, 540};
        Calibration local = calibration_;  // as compare() does
        local.sensor = std::make_shared<const SensorModel>(local.sensor->after({slope(pair.chip, chip)}));
        SensedPhoto photo{
            {local, sense(local, look(pair.chip, chip), chip), sense(local, look(pair.swatch, swatch), swatch)}, lit_by_, "photo", chart_, true};
        return photo;
    }

private:
    /// What the camera's curve makes of linear light: its inverse, by bisection.
    [[nodiscard]] double picture(double scene) const {
        double low = -0.2, high = 1.5;
        for (int i = 0; i < 50; ++i) (curve_.scene((low + high) / 2) < scene ? low : high) = (low + high) / 2;
        return low;
    }
    Conditions conditions_;
    Random& random_;
    SensitivityRows rows_;
    ToneCurve curve_;
    bool linear_ = true, chart_ = false;
    Eigen::Vector3d gains_;
    double flare_ = 0;
    Eigen::Vector2d slope_, tint_;
    Calibration calibration_;
    std::optional<Light> lit_by_;
};

// ---- tables

struct Tally {
    std::vector<double> width, off;
    int held = 0, outside = 0, within = 0, within_far = 0, true_matches = 0, far = 0;
    void see(double shown, const Interval& ci, double truth, double tolerance) {
        width.push_back(ci.high - ci.low);
        off.push_back(std::abs(shown - truth));
        held += holds(ci, truth);
        if (truth <= tolerance) {
            ++true_matches;
            outside += ci.low > tolerance;
        }
        if (truth > 2 * tolerance) {
            ++far;
            within_far += ci.high <= tolerance;
        }
    }
    void add(const Tally& t) {
        width.insert(width.end(), t.width.begin(), t.width.end());
        off.insert(off.end(), t.off.begin(), t.off.end());
        held += t.held;
        outside += t.outside;
        within_far += t.within_far;
        true_matches += t.true_matches;
        far += t.far;
    }
    [[nodiscard]] double coverage() const { return 100.0 * held / static_cast<double>(width.size()); }
    void print(const char* name) const {
        if (width.empty()) return;
        std::printf("  %-22s %5zu   %5.1f %%   %5.2f   %5.2f   %d of %d   %d of %d\n", name, width.size(), coverage(), test::quantile_of(width, 0.5),
                    test::mean_of(off), outside, true_matches, within_far, far);
    }
};

// The pair as lit in one photo, usual and hard conditions. Goals: 93 to 97 % covered and no class below 90 %, median width of the usual ones 0.9 with
// the chart and 1.4 with the card. All 4800 pairs: 98.4 % and 1.48, 1.63; pairs of like kind, which a camera errs on alike, are covered too well, and
// pairs matched under D65 give the width (92 and 91.5 %). Tried on all of them, by kPairKinds:
//   like kind alone (0.93)                           0.94 / 1.18  matched by eye or under D65: 49 to 63 %; photos with a named light 12 of 21 (20)
//   unlike ones 0.08 instead of 0.22                 1.30 / 1.51  matched under D65: 90.7 and 88.7 %; photos 19 of 21
//   0.05, and 0.95 for those of like kind            1.17 / 1.42  90.0 and 86.4 %; 19 of 21
// A chip from a wall-paint maker and a swatch of hobby paints are of unlike kind more often than the simulated pairs are, hence the wider ones.
TEST(PairBars, OnePhotoAsLit) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "cameras and reflectances lie beside the project";
    const int photos = all_pairs() ? 240 : 12, pairs = all_pairs() ? 10 : 6;
    const char* const lights[] = {"LED-B3", "D65", "LED-B1", "LED-B5", "A", "LED-V2", "D50", "LED-B4"};
    Tally total;
    for (const bool chart : {true, false}) {
        std::array<std::array<Tally, 4>, 2> tally;
        Random random(chart ? 71 : 72);
        for (int p = 0; p < photos; ++p) {
            const Lamp& bench = lamp(lights[p % 8]);
            const bool hard = p % 4 == 3;
            const Camera camera(static_cast<std::size_t>(p), bench, p % 3 != 0, chart, true, hard ? kHard : kUsual, random);
            for (int k = 0; k < pairs; ++k) {
                const auto kind = static_cast<Class>(k % 5 < 2 ? 0 : k % 5 < 4 ? 1 : random.uniform() < 0.5 ? 2 : 3);
                const Pair pair = make_pair(kind, bench, random);
                CompareOptions options;
                options.under = {bench.light};
                const Difference d = judge({camera.photo(pair)}, options).difference;
                tally[hard ? 1 : 0][static_cast<std::size_t>(kind)].see(d.de00, d.ci95, difference_2000(bench.lab(pair.chip), bench.lab(pair.swatch)),
                                                                        2);
            }
        }
        std::printf("%s            pairs   covered  width   |off|   false outside  false within\n", chart ? "chart    " : "gray card");
        Tally all;
        const char* const names[] = {"matched", "off", "matched by eye", "matched by D65"};
        std::array<Tally, 2> by;
        for (std::size_t h = 0; h < 2; ++h) {
            for (std::size_t c = 0; c < 4; ++c) {
                tally[h][c].print(((h ? "hard: " : "") + std::string(names[c])).c_str());
                by[h].add(tally[h][c]);
            }
            by[h].print(h ? "all hard" : "all usual");
            all.add(by[h]);
        }
        all.print("all");
        total.add(all);
        EXPECT_LE(test::quantile_of(by[0].width, 0.5), all_pairs() ? (chart ? 1.55 : 1.7) : (chart ? 1.4 : 1.7));  // goals 0.9, 1.4: see above
    }
    total.print("chart and card");
    EXPECT_GE(total.coverage(), 93);
    EXPECT_LE(total.outside, 0.02 * total.true_matches);
    EXPECT_LE(total.within_far, 0.01 * total.far);
}

// ---- an eye instead of a camera: what other lights do, and what a second photo tells

/// A reading by the standard observer with so much noise on each axis of Lab.
class EyeAt {
public:
    EyeAt(const Lamp& at, double sd) : sd_(sd) {
        SensorSetup setup;
        setup.width = setup.height = 1000;
        setup.linear = true;
        setup.lit_by = at.light;
        setup.flare = 0;
        for (int c = 0; c < 3; ++c) setup.prior.mean.row(c) = at.to_xyz.row(c) / at.to_xyz.row(c).sum();
        setup.prior.covariance = 1e-12 * Eigen::MatrixXd::Identity(kSensitivitySize, kSensitivitySize);
        rows_ = setup.prior.mean;
        std::vector<ReferenceColor> references;
        for (int p = 0; p < 24; ++p) {
            const ModelSpectrum r = chart_reflectances().col(p);
            const Eigen::Vector3d rgb = rows_ * r;
            references.push_back({"patch", rgb, (1e-4 * rgb).cwiseAbs2().asDiagonal(), {500, 500}, r, {}, 0});
        }
        calibration_.sensor = std::make_shared<const SensorModel>(setup, references);
        light_ = at.light;
    }
    [[nodiscard]] SensedPhoto photo(const Pair& pair, Random& random) const {
        return {{calibration_, sensed(pair.chip, random), sensed(pair.swatch, random)}, light_, "photo under " + light_.name, true, true};
    }

private:
    [[nodiscard]] SensedColor sensed(const ModelSpectrum& r, Random& random) const {
        RegionStatistics read;
        read.mean = rows_ * r;
        read.covariance = 1e-12 * Eigen::Matrix3d::Identity();
        SensedColor color = sense(calibration_, read, {500, 500});
        for (double& x : color.feature) x += sd_ * random.normal();
        color.noise = sd_ * sd_ * Eigen::Matrix3d::Identity();
        return color;
    }
    double sd_;
    SensitivityRows rows_;
    Calibration calibration_;
    Light light_;
};

CompareOptions under(std::initializer_list<const char*> names) {
    CompareOptions options;
    for (const char* name : names) options.under.push_back(lamp(name).light);
    return options;
}
const PairUnder& row_of(const Comparison& c, const std::string& light) {
    return *std::find_if(c.lights.begin(), c.lights.end(), [&](const PairUnder& one) { return one.light == light; });
}

// Two recipes with nothing in common that lie within 2 under the lamp, and blacks that break by more than 2 in daylight. Goals of the
// unselected: 93 to 97 % covered, width 1.8 from one photo, 1.1 with the second; the chance of breaking within 5 points. Tried on 600 of
// each, by kPairKindsElsewhere (share of alike ones, how alike these and the others are): covered, width, chance said and true in the lowest
// fifth:
//   0.6, 0.85 and 0.3 (as it is)   96.3 %   2.58   0.11, 0.16
//   0.8, 0.85 and 0.3              94.0 %   2.31   0.09, 0.17
//   0.6, 0.90 and 0.6              91.7 %   2.14   0.08, 0.18
//   1.0, 0.85                      88.0 %   1.87   0.07, 0.19
//   1.0, 0.95                      81.5 %   1.54   0.05, 0.21
// The second photo's 1.34 is the same in all: it is the readings' own noise, 0.3 on each axis of each, thus 0.42 of their difference.
TEST(PairBars, OtherLightsAndTheSecondPhoto) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "cameras and reflectances lie beside the project";
    const Lamp &b3 = lamp("LED-B3"), &d65 = lamp("D65"), &a = lamp("A");
    const EyeAt bench(b3, 0.3), daylight(d65, 0.3);
    const std::size_t wanted = all_pairs() ? 600 : 40;
    std::vector<ModelSpectrum> pool;
    std::vector<Lab> at;
    Random random(5);
    for (int i = 0; i < 3000; ++i) {
        pool.push_back(Shelf(random).painted(Shelf::some(random)));
        at.push_back(b3.lab(pool.back()));
    }
    std::printf("                         pairs   covered  width   |off|   false outside  false within\n");
    for (const bool black : {false, true}) {
        Tally one, two, third;
        std::array<double, 5> said{}, was{};
        std::array<int, 5> count{};
        int unusual = 0;
        while (two.width.size() < wanted) {
            const auto i = static_cast<std::size_t>(random.below(3000));
            Pair pair{pool[i], pool[i]};
            if (black) {
                const auto with = with_black(pair.chip, b3, random.uniform(0.04, 0.12), random);
                if (!with) continue;
                pair.swatch = *with;
                if (difference_2000(d65.lab(pair.chip), d65.lab(pair.swatch)) < 2) continue;
            } else {
                const auto first = static_cast<std::size_t>(random.below(3000));
                std::size_t k = first;
                do k = (k + 1) % 3000;
                while (k != first && (k == i || std::abs(at[k].L - at[i].L) > 2.5 || difference_2000(at[i], at[k]) >= 2));
                if (k == first) continue;
                pair.swatch = pool[k];
            }
            const double truth = difference_2000(d65.lab(pair.chip), d65.lab(pair.swatch));
            const SensedPhoto here = bench.photo(pair, random), there = daylight.photo(pair, random);
            const PairUnder alone = row_of(judge({here}, under({"D65"})), "D65");
            one.see(alone.de00, alone.ci95, truth, 2);
            const auto bin = std::min<std::size_t>(4, static_cast<std::size_t>(5 * alone.breaks_probability));
            said[bin] += alone.breaks_probability;
            was[bin] += truth > 2;
            ++count[bin];
            const Comparison both = judge({here, there}, under({"A"}));
            two.see(row_of(both, "D65").de00, row_of(both, "D65").ci95, truth, 2);
            third.see(row_of(both, "A").de00, row_of(both, "A").ci95, difference_2000(a.lab(pair.chip), a.lab(pair.swatch)), 2);
            unusual += both.unusual;
        }
        one.print(black ? "blacks, one photo" : "unselected, one photo");
        two.print("  photo under D65");
        third.print("  both, under A");
        const double flagged = 100.0 * unusual / static_cast<double>(wanted);
        std::printf("  called unusual %.1f %%; chance of breaking in fifths, said (was, of):", flagged);
        for (std::size_t k = 0; k < 5; ++k) {
            if (count[k] > 0) std::printf("  %.2f (%.2f, %d)", said[k] / count[k], was[k] / count[k], count[k]);
        }
        std::printf("\n");
        EXPECT_GE(two.coverage(), 88);  // goal 90; 40 pairs have a standard error of 4 %
        if (black) {
            EXPECT_GE(flagged, 60);
        } else {
            EXPECT_LE(flagged, 5);
            EXPECT_GE(one.coverage(), 88);
        }
    }
}

// Daylight tells most about daylight, as the method's table of second lights has it (bench LED-B3: D65 0.34, D50 0.41, LED-B1 0.52, A 0.53, none
// 0.77).
TEST(Judge, SaysUnderWhichLightASecondPhotoTellsMost) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "reflectances lie beside the project";
    Random random(3);
    const EyeAt bench(lamp("LED-B3"), 0.3);
    const Pair pair = make_pair(Class::matched, lamp("LED-B3"), random);
    for (const char* asked : {"D65", "A"}) {
        const Comparison c = judge({bench.photo(pair, random)}, under({asked}));
        ASSERT_EQ(c.second_light.size(), 5U);  // six candidates less the photo's own
        EXPECT_EQ(c.second_light.front().light, asked);
        EXPECT_LT(c.second_light.front().sd, 0.7 * c.elsewhere_sd);
        for (const SecondLight& s : c.second_light) EXPECT_LE(s.sd, 1.001 * c.elsewhere_sd) << s.light;
        EXPECT_NE(c.notes.back().find("One photo under one light cannot see metamerism"), std::string::npos);
        EXPECT_NE(c.notes.back().find(asked), std::string::npos);
    }
    EXPECT_TRUE(judge({bench.photo(pair, random), EyeAt(lamp("D65"), 0.3).photo(pair, random)}, under({"A"})).second_light.empty());
}

// What is random averages out, the rest stays; an odd look is named, and kept: the range grows for it.
TEST(Judge, RepeatsCombineAndTheOddOneIsNamed) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "reflectances lie beside the project";
    Random random(4);
    const EyeAt bench(lamp("LED-B3"), 0.6);
    const Pair pair = make_pair(Class::matched, lamp("LED-B3"), random);
    const auto part = [](const Comparison& c, const char* name) {
        return std::find_if(c.difference.budget.begin(), c.difference.budget.end(), [&](const ErrorPart& p) { return p.name == name; })->size;
    };
    std::vector<SensedPhoto> looks;
    for (int k = 0; k < 4; ++k) {
        looks.push_back(bench.photo(pair, random));
        looks.back().name = "look " + std::to_string(k + 1);
    }
    const Comparison one = judge({looks[0]}, under({"LED-B3"})), four = judge(looks, under({"LED-B3"}));
    EXPECT_NEAR(part(four, "grain and texture") / part(one, "grain and texture"), 0.5, 0.1);  // root of four
    const char* unlike = "a camera is not an eye, and unlike paints may trick it";
    EXPECT_NEAR(part(four, unlike), part(one, unlike), 0.1);
    EXPECT_EQ(four.lights.size(), 1U);
    const auto odd = [](const Comparison& c) {
        return std::count_if(c.notes.begin(), c.notes.end(), [](const std::string& n) { return n.find("look 3 stands apart") != std::string::npos; });
    };
    EXPECT_EQ(odd(four), 0);
    looks[2].pair.swatch.feature[0] += 6;
    const Comparison with = judge(looks, under({"LED-B3"}));
    EXPECT_EQ(odd(with), 1);
    EXPECT_GT(with.difference.ci95.high, four.difference.ci95.high);
}

// Each fault alone comes first in the budget, with its own advice and a narrower range without it.
TEST(Judge, EachFaultIsTheFirstOfItsBudget) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "cameras and reflectances lie beside the project";
    Random random(6);
    const Lamp& d65 = lamp("D65");
    Pair pair = make_pair(Class::matched, d65, random);
    const auto first = [&](const SensedPhoto& photo, const char* name, const char* advice) {
        const Difference d = judge({photo}, under({"D65"})).difference;
        EXPECT_EQ(d.budget.front().name, name);
        EXPECT_NE(d.budget.front().advice.find(advice), std::string::npos);
        EXPECT_LE(d.budget.front().ci95_without.high, d.ci95.high) << name;
    };
    const Camera good(0, d65, false, true, true, kUsual, random), card(1, d65, true, false, true, kUsual, random);
    first(good.photo(pair), "a camera is not an eye, and unlike paints may trick it", "second light");
    SensedPhoto coarse = good.photo(pair);
    coarse.pair.swatch.noise += 9 * Eigen::Matrix3d::Identity();
    first(coarse, "grain and texture", "mark larger");
    SensedPhoto unnamed = good.photo(pair);
    pair.swatch = with_black(pair.chip, d65, 0.1, random).value_or(pair.swatch);
    unnamed = good.photo(pair);
    unnamed.lit_by.reset();
    const Difference d = judge({unnamed}, under({"D65"})).difference;
    EXPECT_TRUE(
        std::any_of(d.budget.begin(), d.budget.end(), [](const ErrorPart& p) { return p.name == "the light is not named" && p.size > 0.05; }));
}

// kL = 2 (ISO/CIE 11664-6): a step in lightness alone counts half.
TEST(DifferenceDistribution, TexturedCountsLightnessHalf) {
    const Lab middle{50, 0, 0};
    EXPECT_NEAR(difference_about(middle, {2, 0, 0}, {2, 1, 1}), difference_about(middle, {2, 0, 0}) / 2, 1e-9);
    const std::vector<Scatter> s{{1, 0.01 * Eigen::Matrix3d::Identity()}};
    EXPECT_NEAR(DifferenceDistribution(middle, {4, 0, 0}, s, {2, 1, 1}).median(), DifferenceDistribution(middle, {4, 0, 0}, s).median() / 2, 0.02);
}

}  // namespace
}  // namespace sw
