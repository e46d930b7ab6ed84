#include "calibrate/setup.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "calibrate/figure.hpp"

namespace sw {
namespace {

constexpr int kColumns = 24;
constexpr double kPlain = 0.04;       // of one color: ninths of the block differ by no more, relative
constexpr double kDarkBlock = 0.01;   // linear value below which a block says nothing of the light
constexpr double kSameFactor = 0.04;  // blocks that changed by one common factor, logarithm, each channel
constexpr int kLeastBlocks = 12;
constexpr double kColorShift = 0.15;   // logarithm of red or blue over green: another light, or another backdrop
constexpr double kLevelShift = 0.2;    // logarithm of the level, beyond what the exposure explains
constexpr double kUnknownLevel = 0.7;  // the same where the exposure is not told
// Doubt of the gains where the backdrop cannot be compared: lamps age and move a little; a camera's automatic white balance wanders; without EXIF
// the exposure may be another. Common practice, no source.
constexpr double kUnseenLevel = 0.05, kUnseenColor = 0.015, kAutoColor = 0.08, kUntoldLevel = 0.3, kUntoldColor = 0.1;
constexpr double kUntoldCamera = 0.01;  // per channel, where the files do not say that the camera is the same
constexpr double kDriftDoubt = 0.1;     // of the drift itself: a light that changed its color changed its spectrum

Error mismatch(const Photo& photo, const std::string& name, std::string cause, std::string remedy) {
    return Error{Fault::setup_mismatch, photo.path, "set-up " + name, std::move(cause), std::move(remedy)};
}

/// Median of each channel.
Eigen::Vector3f median_of(std::vector<Eigen::Vector3f>& pixels) {
    Eigen::Vector3f result;
    const auto middle = pixels.begin() + static_cast<std::ptrdiff_t>(pixels.size() / 2);
    for (int c = 0; c < 3; ++c) {
        std::nth_element(pixels.begin(), middle, pixels.end(), [c](const Eigen::Vector3f& a, const Eigen::Vector3f& b) { return a[c] < b[c]; });
        result[c] = (*middle)[c];
    }
    return result;
}

/// Exposure relative to light: t ISO / f^2.
std::optional<double> exposure(const Shot& shot) {
    if (!shot.iso || !shot.exposure_s || !shot.f_number) return std::nullopt;
    const double value = *shot.exposure_s * *shot.iso / (*shot.f_number * *shot.f_number);
    return value > 0 && std::isfinite(value) ? std::optional<double>(value) : std::nullopt;
}

bool differ(double a, double b, double relative) { return std::abs(a - b) > relative * std::max(std::abs(a), std::abs(b)); }

std::string camera_of(const Shot& shot) { return shot.make + (shot.make.empty() || shot.model.empty() ? "" : " ") + shot.model; }

std::string signed_percent(double logarithm) {
    const double percent = 100 * (std::exp(logarithm) - 1);
    return (percent < 0 ? "-" : "+") + figure(std::abs(percent), 1) + " %";
}

/// What both files say of how they were taken.
struct Taken {
    std::vector<std::string> compared;
    bool camera_told = false, white_by_hand = false, auto_white = false;
    std::optional<double> log_exposure;  // now over then
};

Result<Taken> compare_shots(const Photo& photo, const Setup& setup, const std::string& name) {
    const Shot &now = photo.shot, &then = setup.shot;
    Taken taken;
    const auto words = [&](const std::string& what, const std::string& a, const std::string& b) -> std::optional<bool> {
        if (a.empty() || b.empty()) {
            taken.compared.push_back(what + ": not told by " +
                                     (a.empty() && b.empty() ? "either file"
                                      : a.empty()            ? "this file"
                                                             : "the set-up's file"));
            return std::nullopt;
        }
        if (a != b) return false;
        taken.compared.push_back(what + ": " + a);
        return true;
    };
    const std::optional<bool> camera = words("camera", camera_of(now), camera_of(then));
    if (camera == false) {
        return mismatch(photo, name, "taken with " + camera_of(now) + ", the set-up with " + camera_of(then),
                        "take the photo with the set-up's camera, or calibrate one of this camera");
    }
    taken.camera_told = camera.value_or(false);
    if (words("lens", now.lens, then.lens) == false) {
        return mismatch(photo, name, "taken through " + now.lens + ", the set-up through " + then.lens, "use the set-up's lens, or calibrate anew");
    }
    if (now.focal_mm && then.focal_mm) {
        if (differ(*now.focal_mm, *then.focal_mm, 0.02)) {
            return mismatch(photo, name, "the focal length is " + figure(*now.focal_mm, 1) + " mm, the set-up's " + figure(*then.focal_mm, 1) + " mm",
                            "zoom as in the set-up, or calibrate anew");
        }
        taken.compared.push_back("focal length: " + figure(*now.focal_mm, 1) + " mm");
    } else {
        taken.compared.emplace_back("focal length: not told");
    }
    if (words("white balance", now.white_balance, then.white_balance) == false) {
        return mismatch(photo, name, "white balance is " + now.white_balance + ", in the set-up " + then.white_balance,
                        "set the white balance as in the set-up, best by hand, and photograph again");
    }
    taken.auto_white = now.white_balance == "auto";
    taken.white_by_hand = !taken.auto_white && !now.white_balance.empty() && !then.white_balance.empty();
    const std::optional<double> a = exposure(now), b = exposure(then);
    if (a && b) {
        taken.log_exposure = std::log(*a / *b);
        if (std::abs(*taken.log_exposure) < 0.02) taken.log_exposure = 0;
        taken.compared.push_back(*taken.log_exposure == 0 ? "exposure: the same" : "exposure: " + figure(*a / *b, 2) + " of the set-up's");
    } else {
        taken.compared.emplace_back("exposure: not told");
    }
    return taken;
}

}  // namespace

Point Backdrop::middle(std::size_t block, int width, int height) const {
    const int x = static_cast<int>(block) % columns, y = static_cast<int>(block) / columns;
    return {(x + 0.5) * width / columns, (y + 0.5) * height / rows};
}

Backdrop backdrop(const Photo& photo) {
    Backdrop result;
    result.columns = std::clamp(photo.width / 9, 1, kColumns);
    result.rows = std::clamp(static_cast<int>(std::lround(static_cast<double>(result.columns) * photo.height / photo.width)), 1,
                             std::clamp(photo.height / 9, 1, 2 * kColumns));
    for (int j = 0; j < result.rows; ++j) {
        for (int i = 0; i < result.columns; ++i) {
            const auto edge = [](int n, int parts, int size) { return static_cast<int>(static_cast<long long>(n) * size / parts); };
            const int x0 = edge(i, result.columns, photo.width), x1 = edge(i + 1, result.columns, photo.width);
            const int y0 = edge(j, result.rows, photo.height), y1 = edge(j + 1, result.rows, photo.height);
            std::vector<Eigen::Vector3f> ninths;
            int clipped = 0, read = 0;
            for (int part = 0; part < 9; ++part) {
                const int u0 = x0 + edge(part % 3, 3, x1 - x0), u1 = x0 + edge(part % 3 + 1, 3, x1 - x0);
                const int v0 = y0 + edge(part / 3, 3, y1 - y0), v1 = y0 + edge(part / 3 + 1, 3, y1 - y0);
                const int step_x = std::max(1, (u1 - u0 + 6) / 7), step_y = std::max(1, (v1 - v0 + 6) / 7);
                std::vector<Eigen::Vector3f> pixels;
                for (int y = v0; y < v1; y += step_y) {
                    for (int x = u0; x < u1; x += step_x) {
                        const auto p = photo.pixel(x, y);
                        pixels.emplace_back(p[0], p[1], p[2]);
                        clipped += photo.clipped_at(x, y) ? 1 : 0;
                        ++read;
                    }
                }
                if (!pixels.empty()) ninths.push_back(median_of(pixels));
            }
            Eigen::Vector3f low = Eigen::Vector3f::Constant(1e9F), high = Eigen::Vector3f::Constant(-1e9F);
            for (const Eigen::Vector3f& n : ninths) {
                low = low.cwiseMin(n);
                high = high.cwiseMax(n);
            }
            const bool plain = ninths.size() == 9 && clipped * 100 <= read && low.minCoeff() > static_cast<float>(kDarkBlock) &&
                               ((high - low).array() < static_cast<float>(kPlain) * high.array()).all();
            result.color.push_back(ninths.empty() ? Eigen::Vector3f(Eigen::Vector3f::Zero()) : median_of(ninths));
            result.plain.push_back(plain ? 1 : 0);
        }
    }
    return result;
}

Result<Setup> make_setup(const Photo& photo, const Calibration& calibration) {
    const Evidence& evidence = *calibration.evidence;
    if (evidence.references.empty()) {
        return Error{Fault::setup_mismatch, photo.path, "set-up", "there is no reference in the photo, so there is nothing to borrow",
                     "mark a gray card, a chart or a known chip, then save the set-up"};
    }
    return Setup{evidence, photo.shot, photo.encoding, backdrop(photo), photo.path, photo.content_hash};
}

std::optional<LightDrift> light_drift(const Setup& setup, const SensorModel& model, const Backdrop& now) {
    const Backdrop& then = setup.backdrop;
    if (now.columns != then.columns || now.rows != then.rows) return std::nullopt;
    const SensorSetup& size = model.setup();
    // flare is a share of the light, so that it drops out of the ratio once it is left in both
    const auto ratio = [&](std::size_t block, Doubts doubts) {
        doubts[flare] = 0;
        const Point at = then.middle(block, size.width, size.height);
        const auto light = [&](const Eigen::Vector3f& rgb) -> Eigen::Vector3d { return model.scene(rgb.cast<double>(), at, doubts).cwiseMax(1e-4); };
        const Eigen::Vector3d here = light(now.color[block]), there = light(then.color[block]);
        return Eigen::Vector3d(here.cwiseQuotient(there).array().log());
    };
    std::vector<std::size_t> blocks;
    std::vector<Eigen::Vector3d> ratios;
    for (std::size_t k = 0; k < then.plain.size(); ++k) {
        if (then.plain[k] == 0 || now.plain[k] == 0) continue;
        blocks.push_back(k);
        ratios.push_back(ratio(k, model.doubts()));
    }
    const auto near = [&](const Eigen::Vector3d& center) {
        std::vector<std::size_t> members;
        for (std::size_t k = 0; k < ratios.size(); ++k) {
            if ((ratios[k] - center).cwiseAbs().maxCoeff() < kSameFactor) members.push_back(k);
        }
        return members;
    };
    std::vector<std::size_t> best;  // the factor that most blocks share: what was moved or laid there since is left out
    for (const Eigen::Vector3d& r : ratios) {
        std::vector<std::size_t> members = near(r);
        if (members.size() > best.size()) best = std::move(members);
    }
    LightDrift drift;
    const auto mean_of = [&] {
        Eigen::Vector3d mean = Eigen::Vector3d::Zero();
        for (const std::size_t k : best) mean += ratios[k] / static_cast<double>(best.size());
        return mean;
    };
    for (int round = 0; round < 3 && !best.empty(); ++round) best = near(mean_of());
    drift.blocks = static_cast<int>(best.size());
    drift.compared = static_cast<int>(ratios.size());
    if (drift.blocks < kLeastBlocks || 3 * drift.blocks < drift.compared) return std::nullopt;
    drift.log_gain = mean_of();
    for (const std::size_t k : best) {
        const Eigen::Vector3d off = ratios[k] - drift.log_gain;
        drift.spread += off * off.transpose() / static_cast<double>(best.size());
    }
    for (int d = 0; d < doubt_count; ++d) {
        constexpr double h = 1e-3;
        Doubts up = model.doubts(), down = up;
        up[d] += h;
        down[d] -= h;
        for (const std::size_t k : best)
            drift.by_doubts.col(d) += (ratio(blocks[k], up) - ratio(blocks[k], down)) / (2 * h * static_cast<double>(best.size()));
    }
    return drift;
}

Result<Calibration> calibrate_by(const Photo& photo, const Setup& setup, const std::string& name, const std::optional<Light>& lit_by) {
    const SensorSetup& then = setup.evidence.setup;
    if (photo.width != then.width || photo.height != then.height) {
        return mismatch(photo, name,
                        "the picture is " + std::to_string(photo.width) + " x " + std::to_string(photo.height) + " pixels, the set-up's " +
                            std::to_string(then.width) + " x " + std::to_string(then.height),
                        "give the camera's own file, neither cropped nor turned nor made smaller");
    }
    Eigen::Matrix3d native;
    for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) native(r, c) = photo.native_from_srgb[static_cast<std::size_t>(3 * r + c)];
    }
    if (photo.encoding != setup.encoding || photo.linear != then.linear || (native - then.native).cwiseAbs().maxCoeff() > 1e-3) {
        return mismatch(photo, name, "it is encoded otherwise (" + photo.encoding + "; the set-up: " + setup.encoding + ")",
                        "take the same kind of file from the camera, and give the same --transfer");
    }
    if (photo.evened != then.evened) {
        return mismatch(photo, name,
                        then.evened ? "the set-up's light was evened by a photo of a plain board, this one's was not"
                                    : "this photo's light was evened by a photo of a plain board, the set-up's was not",
                        then.evened ? "give the board's photo with --flat" : "leave out --flat");
    }
    if (lit_by && (!then.lit_by || then.lit_by->name != lit_by->name)) {
        return mismatch(
            photo, name,
            "it is said to be lit by " + lit_by->name + ", the set-up " + (then.lit_by ? "by " + then.lit_by->name : "by an unknown light"),
            "leave out --lit-by, or calibrate a set-up under that light");
    }
    Result<Taken> taken = compare_shots(photo, setup, name);
    if (!taken) return taken.error();

    Calibration result = fit(setup.evidence);
    for (std::string& warning : result.warnings) warning = "set-up " + name + ": " + warning;
    result.method = "set-up " + name + ": " + result.method;
    result.references.insert(result.references.begin(), "set-up " + name + ", made from " + setup.file);
    result.grade += "; borrowed from another photo";
    result.chart_corners.reset();
    for (ReferenceUse& use : result.uses) use.elsewhere = true;

    SetupUse use{name, setup.file, std::move(taken->compared), {}, {}};
    const std::optional<LightDrift> drift = light_drift(setup, *result.sensor, backdrop(photo));
    Eigen::Matrix3d doubt = Eigen::Matrix3d::Zero();
    Eigen::Vector3d move = Eigen::Vector3d::Zero();
    Eigen::Matrix<double, 3, doubt_count> by_doubts = Eigen::Matrix<double, 3, doubt_count>::Zero();
    if (!taken->camera_told) {
        doubt += kUntoldCamera * kUntoldCamera * Eigen::Matrix3d::Identity();
        result.warnings.push_back("the files do not both say which camera took them: that it is the set-up's is taken on trust");
    }
    const bool exposed_otherwise = taken->log_exposure && *taken->log_exposure != 0;
    if (drift) {
        const double level = drift->log_gain[1], red = drift->log_gain[0] - level, blue = drift->log_gain[2] - level;
        const double expected = taken->log_exposure.value_or(0), most = taken->log_exposure ? kLevelShift : kUnknownLevel;
        if (std::max(std::abs(red), std::abs(blue)) > kColorShift) {
            return mismatch(
                photo, name,
                "its backdrop has another color than the set-up's (red " + signed_percent(red) + ", blue " + signed_percent(blue) + " against green)",
                "light it as in the set-up, with the same white balance and backdrop, or calibrate a new set-up");
        }
        if (std::abs(level - expected) > most) {
            return mismatch(photo, name,
                            "its backdrop is lighter or darker than in the set-up (" + signed_percent(level) +
                                (taken->log_exposure ? ", expected by the exposure " + signed_percent(expected) : "") + ")",
                            "light and expose it as in the set-up, or calibrate a new set-up");
        }
        move = drift->log_gain;
        by_doubts = drift->by_doubts;
        // places differ by the spread, and so may the parts' place
        doubt += drift->spread * (1 + 10.0 / drift->blocks);
        const Eigen::Vector3d moved = kDriftDoubt * (move - Eigen::Vector3d::Constant(exposed_otherwise ? expected : 0));
        doubt += moved * moved.transpose() + 0.002 * 0.002 * Eigen::Matrix3d::Identity();
        use.compared.push_back("backdrop: " + std::to_string(drift->blocks) + " of " + std::to_string(drift->compared) +
                               " plain places unchanged but for the light");
        if (std::max({std::abs(level - expected), std::abs(red), std::abs(blue)}) > 0.02) {
            result.warnings.push_back("the light has drifted since the set-up was made (level " + signed_percent(level - expected) + ", red " +
                                      signed_percent(red) + ", blue " + signed_percent(blue) +
                                      "): the backdrop shows it and it is taken out; photograph the references again soon");
        }
        if (exposed_otherwise)
            result.warnings.push_back("exposed otherwise than the set-up; the backdrop agrees, so it is taken out: keep the exposure if you can");
        if (taken->auto_white)
            result.warnings.push_back(
                "white balance is automatic: the backdrop shows how it wandered and that is taken out, but another light would not show; set it by "
                "hand");
    } else {
        if (exposed_otherwise) {
            return mismatch(
                photo, name,
                "the exposure is another (" + figure(std::exp(*taken->log_exposure), 2) + " of the set-up's) and no backdrop is there to confirm it",
                "expose as in the set-up, and leave the same plain backdrop in view");
        }
        const bool told = taken->log_exposure.has_value();
        const double level = told ? kUnseenLevel : kUntoldLevel, color = !told ? kUntoldColor : taken->white_by_hand ? kUnseenColor : kAutoColor;
        doubt += Eigen::Matrix3d::Constant(level * level) + color * color * Eigen::Matrix3d::Identity();
        use.compared.emplace_back("backdrop: nothing plain that is the same in both photos");
        result.warnings.push_back(std::string("no backdrop tells whether the light is still that of the set-up, so the ± is wider") +
                                  (taken->auto_white ? ", much so because white balance is automatic"
                                   : told            ? ""
                                                     : ", much so because the file does not tell its exposure") +
                                  "; leave a plain gray backdrop in view in both photos");
    }
    result.sensor = std::make_shared<const SensorModel>(result.sensor->drifted(move, by_doubts, doubt));
    if (drift) use.drift = move;
    for (int c = 0; c < 3; ++c) use.drift_sd[c] = std::sqrt(doubt(c, c));
    for (const std::string& line : use.compared) result.references.push_back(line);
    result.setup = std::move(use);
    return result;
}

}  // namespace sw
