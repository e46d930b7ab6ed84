#include "calibrate/screen.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "calibrate/figure.hpp"
#include "color/adaptation.hpp"
#include "color/light.hpp"
#include "color/quantile.hpp"
#include "photo/frame.hpp"
#include "photo/statistics.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

// How much frames of one thing differ, standard deviations of L*, a*, b* (light, shading and grade from shot to shot), as if three frames had said
// so. Common practice, no source.
const Vector3d kBetweenFrames{2.5, 2, 2};
constexpr double kBelief = 3;
// The exponent between two cameras' curves, relative to the white of the same photo. Common practice, no source.
constexpr double kCurve = 0.1;
// A thing taken for neutral is so within this, each of a* and b*; that a gain repairs a graded picture, too. Reproduction errors of 1.5 degrees give
// a mean difference of about 1.4 (our own simulation on chips). Lightness: an LRV typed from memory.
constexpr double kThingColor = 2, kThingLightness = 1.5;
constexpr double kUnlike = 4;  // robust standard deviations

Xyz screen_white() { return xyz(LinearRgb{1, 1, 1}); }

template <class F>
Matrix3d jacobian(const F& f, const Vector3d& at) {
    Matrix3d j;
    for (int c = 0; c < 3; ++c) {
        const double step = 1e-4 * std::max(0.05, std::abs(at[c]));
        Vector3d low = at, high = at;
        low[c] -= step;
        high[c] += step;
        j.col(c) = (f(high) - f(low)) / (2 * step);
    }
    return j;
}

double size_of(const Matrix3d& covariance) { return std::sqrt(std::max(0.0, covariance.trace()) / 3); }

/// What the camera before a screen may make of the screen's RGB, white being white: rows sum to 1. Draws over cameras (the learned statistics) and
/// over screens. Primaries: bands of Gaussian form about those of screens with phosphor or dot backlights and of emitting ones; from memory, wide.
std::vector<Matrix3d> cameras_before_screens() {
    const Light daylight = *light("D65");
    const Sensitivity prior = sensitivity_prior(daylight, Rendering::rendered);
    const ModelSpectrum power = on_model_grid(daylight.power).cwiseMax(1e-6);
    Random random(20);
    std::vector<Matrix3d> draws;
    for (int screen = 0; screen < 8; ++screen) {
        Eigen::Matrix<double, kModelBands, 3> primaries;
        const double center[3] = {random.uniform(608, 632), random.uniform(526, 544), random.uniform(446, 460)};
        const double width[3] = {random.uniform(10, 35), random.uniform(14, 35), random.uniform(8, 13)};
        for (int k = 0; k < 3; ++k) {
            for (int i = 0; i < kModelBands; ++i) primaries(i, k) = std::exp(-0.5 * std::pow((kFirstNm + 5 * i - center[k]) / width[k], 2));
        }
        for (int k = 0; k < 3; ++k) primaries.col(k) = primaries.col(k).cwiseQuotient(power);  // the prior's sensitivity holds the daylight
        // Nine figures, linear in the sensitivity.
        Eigen::MatrixXd to_nine = Eigen::MatrixXd::Zero(9, kSensitivitySize);
        for (int c = 0; c < 3; ++c) {
            for (int k = 0; k < 3; ++k) to_nine.row(3 * c + k).segment(c * kModelBands, kModelBands) = primaries.col(k).transpose();
        }
        Eigen::VectorXd mean(9);
        for (int c = 0; c < 3; ++c) mean.segment(3 * c, 3) = primaries.transpose() * prior.mean.row(c).transpose();
        // The screen's white is neutral to the eye: primaries' shares so that the mean camera, balanced, sees their columns add up to white.
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> axes(to_nine * prior.covariance * to_nine.transpose());
        const Eigen::MatrixXd root = axes.eigenvectors() * axes.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
        const auto matrix_of = [](const Eigen::VectorXd& nine) {
            Matrix3d m;
            for (int c = 0; c < 3; ++c) m.row(c) = nine.segment(3 * c, 3).transpose();
            return m;
        };
        const Vector3d shares = matrix_of(mean).fullPivLu().solve(Vector3d::Ones());
        if (!(shares.minCoeff() > 0)) continue;
        for (int draw = 0; draw < 16; ++draw) {
            Eigen::VectorXd nine = mean;
            for (int i = 0; i < 9; ++i) nine += root.col(i) * random.normal();
            Matrix3d m = matrix_of(nine) * shares.asDiagonal();
            for (int c = 0; c < 3; ++c) m.row(c) /= m.row(c).sum();
            if (m.fullPivLu().isInvertible() && m.inverse().cwiseAbs().maxCoeff() < 5) draws.push_back(m);
        }
    }
    return draws;
}

Error place_error(const FramePlace& place, Fault fault, const std::string& where, std::string cause, std::string remedy) {
    return {.fault = fault, .file = place.photo->path, .place = where, .cause = std::move(cause), .remedy = std::move(remedy)};
}

/// Black bars are no picture.
Result<Done> inside_picture(const FramePlace& place, const Region& region) {
    const Box area = picture_area(*place.photo), box = bounds(region);
    const auto refuse = [&](const std::string& bar, const std::string& begin) {
        return place_error(place, Fault::region_outside, "region " + to_text(region), "it reaches into the black bar " + bar, "the picture " + begin);
    };
    if (box.y < area.y - 0.5) return refuse("at the top", "begins at row " + figure(area.y, 0));
    if (box.y + box.h > area.y + area.h + 0.5) return refuse("at the bottom", "ends at row " + figure(area.y + area.h, 0));
    if (box.x < area.x - 0.5) return refuse("at the left", "begins at column " + figure(area.x, 0));
    if (box.x + box.w > area.x + area.w + 0.5) return refuse("at the right", "ends at column " + figure(area.x + area.w, 0));
    return Done{};
}

/// Bright strokes that the robust mean left out: lettering.
double bright_share(const Photo& photo, const Region& region, const RegionStatistics& s) {
    const double middle = s.mean.sum(), spread = std::sqrt(s.pixel_covariance.sum());
    std::size_t bright = 0;
    const std::vector<SpoiledPixel> spoiled = spoiled_pixels(photo, region);
    for (const SpoiledPixel& p : spoiled) {
        const auto v = photo.pixel(p.x, p.y);
        bright += v[0] + v[1] + v[2] > middle + std::max(6 * spread, 0.5 * middle) ? 1 : 0;
    }
    return spoiled.empty() ? 0 : s.rejected * static_cast<double>(bright) / static_cast<double>(spoiled.size());
}

struct Read {
    Vector3d rgb;         // the screen's, linear
    Matrix3d covariance;  // of it: own noise
    std::vector<std::string> notes;
};

/// A place of a frame in the screen's linear RGB (grabs), or relative to the white still (photos of a screen; as the camera has it).
Result<Read> read_place(const FramePlace& place, const Region& region, const std::string& role) {
    if (place.still == nullptr) {
        if (const auto inside = inside_picture(place, region); !inside) return inside.error();
        const auto s = region_statistics(*place.photo, region, role);
        if (!s) return s.error();
        Read read{s->mean, s->covariance, s->warnings};
        const double lettering = bright_share(*place.photo, region, *s);
        if (lettering > 0.004)
            read.notes.push_back("something bright lies over " + figure(std::max(1.0, 100 * lettering), 0) +
                                 " % of it, like lettering; it was left out");
        return read;
    }
    if (!place.still_region && (place.still->width != place.photo->width || place.still->height != place.photo->height))
        return place_error(place, Fault::flat_unusable, "white still " + place.still->path, "it is of another size than the photo",
                           "take both from the same place with the same settings, or say where on the still with FILE=REGION");
    const Box box = bounds(region);
    const int side = std::clamp(static_cast<int>(std::min(box.w, box.h) / 12), 1, 64);
    const auto averaged = [side](const Photo& photo, const Region& where, const std::string& what) {
        const Averaged means = block_means(photo, where, side);
        return region_statistics(means.photo, means.region, what);
    };
    // First as they are: a region outside or too small is said in the photo's own figures.
    const auto fine = region_statistics(*place.photo, region, role);
    if (!fine) return fine.error();
    const Region on_still = place.still_region.value_or(region);
    if (const auto whole = region_statistics(*place.still, on_still, "white still"); !whole) return whole.error();
    const auto s = averaged(*place.photo, region, role);
    if (!s) return s.error();
    const auto white = averaged(*place.still, on_still, "white still");
    if (!white) return white.error();
    if (white->clipped > 0.01 || white->mean.minCoeff() < 0.02)
        return place_error(place, Fault::gray_unusable, "white still " + place.still->path,
                           white->clipped > 0.01 ? "its white is at the top of the camera's range" : "its white is nearly black",
                           "expose so that the white screen comes out light gray, and both photos alike");
    Read read;
    read.rgb = s->mean.cwiseQuotient(white->mean);
    const Vector3d by_still = read.rgb.cwiseQuotient(white->mean);
    const Matrix3d per_white = white->mean.cwiseInverse().asDiagonal();
    read.covariance = per_white * s->covariance * per_white + Matrix3d(by_still.asDiagonal()) * white->covariance * Matrix3d(by_still.asDiagonal());
    read.notes = s->warnings;
    const double coarse = std::sqrt(s->pixel_covariance.trace()), grain = std::sqrt(fine->pixel_covariance.trace());
    if (side > 1 && grain > 0.08 * fine->mean.norm() && grain > 2.5 * coarse)
        read.notes.emplace_back("a pattern lies over it (the screen's pixels, moiré); it was averaged out");
    return read;
}

/// What the known thing reads.
Result<Vector3d> thing_as_shown(const FramePlace& place) {
    const auto read = read_place(place, place.known->region, "known thing");
    if (!read) return read.error();
    if (read->rgb.minCoeff() <= 0.003)
        return place_error(place, Fault::gray_unusable, "known thing " + to_text(place.known->region), "it is too dark to tell the light's color",
                           "point at a lighter thing");
    return read->rgb;
}

/// From the frame's RGB to Lab, with the known thing's correction where there is one.
struct Correction {
    Xyz from = screen_white(), to = screen_white();
    double level = 1;
    [[nodiscard]] Vector3d lab_of(const Vector3d& rgb) const {
        Xyz c = adapt(xyz(LinearRgb{rgb[0], rgb[1], rgb[2]}), from, to);
        c = {level * c.X, level * c.Y, level * c.Z};
        const Lab l = lab(adapt(c, screen_white(), kWhiteD50), kWhiteD50);
        return {l.L, l.a, l.b};
    }
};

Correction correction_of(const KnownThing& thing, const Vector3d& rgb) {
    const Xyz seen = xyz(LinearRgb{rgb[0], rgb[1], rgb[2]}), white = screen_white();
    Xyz is{white.X * seen.Y / white.Y, seen.Y, white.Z * seen.Y / white.Y};
    if (thing.color) is = adapt(xyz(*thing.color), kWhiteD50, white);
    if (thing.lrv) is = {white.X * *thing.lrv / 100, white.Y * *thing.lrv / 100, white.Z * *thing.lrv / 100};
    Correction c;
    c.from = {seen.X / seen.Y * 100, 100, seen.Z / seen.Y * 100};  // chromaticities: the adaptation moves colors, the level stays apart
    c.to = {is.X / is.Y * 100, 100, is.Z / is.Y * 100};
    c.level = is.Y / seen.Y;
    return c;
}

/// BT.1886 (gamma 2.4, black 0) of what was decoded by IEC 61966-2-1.
Vector3d as_bt1886(const Vector3d& linear) {
    return linear.unaryExpr([](double v) { return v <= 0 ? v : std::pow(linear_to_srgb(std::min(v, 1.0)), 2.4) * (v > 1 ? v : 1); });
}

Vector3d middle_of(const std::vector<Vector3d>& values) {
    Vector3d middle;
    for (int c = 0; c < 3; ++c) {
        std::vector<double> one;
        for (const Vector3d& v : values) one.push_back(v[c]);
        std::sort(one.begin(), one.end());
        middle[c] = quantile_of_sorted(one, 0.5);
    }
    return middle;
}

}  // namespace

Result<ScreenReading> read_screen(const std::vector<FramePlace>& places) {
    if (places.empty()) return Error{Fault::bad_usage, "", "", "no frame is given", "name a frame and a place in it"};
    const bool photographed = std::any_of(places.begin(), places.end(), [](const FramePlace& p) { return p.still != nullptr; });
    const std::vector<Matrix3d> cameras = photographed ? cameras_before_screens() : std::vector<Matrix3d>();
    Matrix3d middle_camera = Matrix3d::Zero();
    for (const Matrix3d& m : cameras) middle_camera += m / static_cast<double>(cameras.size());
    if (photographed) middle_camera = middle_camera.inverse().eval();

    ScreenReading result;
    std::vector<Vector3d> colors;
    Matrix3d encoding = Matrix3d::Zero(), camera = Matrix3d::Zero(), thing = Matrix3d::Zero();
    const double share = 1 / static_cast<double>(places.size());
    for (const FramePlace& place : places) {
        auto read = read_place(place, place.region, "region");
        if (!read) return read.error();
        const auto screen_rgb = [&](const Vector3d& rgb) -> Vector3d { return place.still != nullptr ? Vector3d(middle_camera * rgb) : rgb; };
        Correction correction;
        if (place.known) {
            const auto seen = thing_as_shown(place);
            if (!seen) return seen.error();
            correction = correction_of(*place.known, screen_rgb(*seen));
            result.as_displayed = false;
        }
        const auto to_lab = [&](const Vector3d& rgb) { return correction.lab_of(screen_rgb(rgb)); };
        const Vector3d color = to_lab(read->rgb);
        const Matrix3d j = jacobian(to_lab, read->rgb);
        FrameReading frame;
        frame.lab = {color[0], color[1], color[2], kWhiteD50};
        frame.covariance = j * read->covariance * j.transpose();
        frame.notes = std::move(read->notes);
        if (place.still != nullptr) {
            Matrix3d spread = Matrix3d::Zero();
            for (const Matrix3d& m : cameras) {
                const Vector3d off = correction.lab_of(m.inverse() * read->rgb) - color;
                spread += off * off.transpose() / static_cast<double>(cameras.size());
            }
            const Vector3d bent = to_lab(read->rgb.cwiseMax(1e-5).array().pow(1 + kCurve).matrix()) - color;
            camera += share * (spread + bent * bent.transpose());
        } else if (place.photo->untagged && place.photo->transfer.kind == TransferKind::automatic) {
            const Vector3d off = 0.5 * (to_lab(as_bt1886(read->rgb)) - color);
            encoding += share * off * off.transpose();
        }
        if (place.known) {
            const double scale = std::clamp(color[0] / 60, 0.3, 1.5);  // an error of the white moves dark colors less
            Vector3d sd{place.known->lrv || place.known->color ? kThingLightness : 0, scale * kThingColor, scale * kThingColor};
            thing += share * Matrix3d(sd.cwiseAbs2().asDiagonal());
        }
        colors.push_back(color);
        result.frames.push_back(std::move(frame));
    }

    // Who is unlike the rest?
    const Vector3d middle = middle_of(colors);
    std::vector<double> away;
    for (const Vector3d& c : colors) away.push_back((c - middle).norm());
    if (colors.size() >= 4) {
        std::vector<double> sorted = away;
        std::sort(sorted.begin(), sorted.end());
        const double usual = std::max(1.0, sorted[(sorted.size() - 1) / 2] / 1.538);  // median of a chi distribution of 3
        for (std::size_t i = 0; i < colors.size(); ++i) result.frames[i].left_out = away[i] > kUnlike * usual;
    }
    Vector3d mean = Vector3d::Zero();
    double n = 0;
    Matrix3d grain = Matrix3d::Zero();
    for (std::size_t i = 0; i < colors.size(); ++i) {
        if (result.frames[i].left_out) continue;
        mean += colors[i];
        ++n;
    }
    mean /= n;
    Matrix3d between = kBelief * Matrix3d(kBetweenFrames.cwiseAbs2().asDiagonal());
    for (std::size_t i = 0; i < colors.size(); ++i) {
        FrameReading& frame = result.frames[i];
        frame.from_middle = (colors[i] - mean).norm();
        if (frame.left_out) {
            result.notes.push_back("frame " + std::to_string(i + 1) + " is " + figure(frame.from_middle, 0) +
                                   " away from the middle of the others and was left out: another light, another part, or a shadow?");
            continue;
        }
        between += (colors[i] - mean) * (colors[i] - mean).transpose();
        grain += frame.covariance / n;
    }
    const double freedom = kBelief + n - 1;
    between *= (1 + 1 / n) * (1 + 3 / (freedom + 2)) / freedom;  // a spread told by few frames is itself in doubt
    if (places.size() == 1)
        result.notes.emplace_back("one frame: how much the film changes it from frame to frame is a usual figure; more frames would tell");
    if (result.as_displayed)
        result.notes.emplace_back(
            "as displayed: what the grade made of the thing's own color is not known; without a thing of known color in the frame it may be "
            "3 away, in one film of four 7 to 10");
    if (photographed && std::any_of(places.begin(), places.end(), [](const FramePlace& p) { return p.photo->linear; }))
        result.notes.emplace_back("a linear photo of a screen: no camera curve is undone");
    if (encoding.trace() > 0.01)
        result.notes.emplace_back(
            "the file does not say how it is encoded: sRGB is assumed, and half the way to a film's own curve (BT.1886) is in the ±");

    result.lab = {mean[0], mean[1], mean[2], kWhiteD50};
    result.covariance = between + grain + encoding + camera + thing + 1e-4 * Matrix3d::Identity();
    for (const auto& [name, part] : {std::pair{"from frame to frame", between},
                                     {"grain and texture", grain},
                                     {"encoding of the file", encoding},
                                     {"camera before the screen", camera},
                                     {"the thing of known color", thing}}) {
        if (size_of(part) > 0.005) result.parts.push_back({name, size_of(part)});
    }
    std::stable_sort(result.parts.begin(), result.parts.end(), [](const ScreenPart& a, const ScreenPart& b) { return a.sd > b.sd; });
    return result;
}

}  // namespace sw
