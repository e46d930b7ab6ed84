#include "calibrate/evidence.hpp"

#include <algorithm>
#include <cmath>

#include "calibrate/chart.hpp"
#include "calibrate/figure.hpp"
#include "calibrate/sensed.hpp"
#include "spectral/raw_matrix.hpp"
#include "spectral/surfaces.hpp"

namespace sw {

bool is_neutral(const ReferenceColor& r) {
    const auto visible = r.reflectance.segment<55>(8);  // 420 to 690 nm: white paint swallows the violet before it
    return visible.maxCoeff() - visible.minCoeff() < 0.15 * visible.mean();
}

std::optional<Sensitivity> prior_of(const std::optional<Light>& lit_by, Rendering rendering, const std::optional<Eigen::Matrix3d>& raw_matrix) {
    if (!raw_matrix) return sensitivity_prior(lit_by, rendering);
    const std::optional<CameraStatistics> cameras = cameras_with_matrix(shipped_cameras(), *raw_matrix);
    if (!cameras) return std::nullopt;
    return sensitivity_prior(lit_by, rendering, *cameras);
}

namespace {

constexpr double kCardTolerance = 0.01;   // relative, of a gray card's LRV; common practice, no source
constexpr double kCardNeutral = 0.006;    // relative, between channels: cards are not quite neutral; common practice, no source
constexpr double kChipTolerance = 0.01;   // relative, of a known chip's level
constexpr double kDarkReference = 0.004;  // linear value below which a reference tells nothing

Error unusable(Fault fault, const Photo& photo, const std::string& place, std::string cause, std::string remedy) {
    return Error{.fault = fault, .file = photo.path, .place = place, .cause = std::move(cause), .remedy = std::move(remedy)};
}

/// The reference as far as every kind shares it; refuses what tells nothing.
Result<ReferenceColor> sample(const Photo& photo, const Region& region, const std::string& role, Fault fault, std::vector<std::string>& warnings) {
    const Result<RegionStatistics> read = region_statistics(photo, region, role);
    if (!read) return read.error();
    if (read->clipped > 0.25) {
        return unusable(fault, photo, role + " " + to_text(region),
                        "it is clipped: " + figure(100 * read->clipped, 0) + " % of its pixels stand at the top",
                        "expose less, or move the glare away, and photograph again");
    }
    if (read->mean.maxCoeff() < kDarkReference) {
        return unusable(fault, photo, role + " " + to_text(region), "it is black in the picture", "mark the " + role + " itself, or expose more");
    }
    if (read->clipped > 0.01) {
        warnings.push_back(role + ": " + figure(100 * read->clipped, 0) + " % of its pixels are clipped; expose less");
    }
    if (read->mean.maxCoeff() < 0.02) warnings.push_back(role + ": dark in the picture; put more light on it or expose more");
    if (read->gradient > 0.15) {
        warnings.push_back(role + ": the light changes by " + figure(100 * read->gradient, 0) +
                           " % across it; move the lamp back or mark a smaller part");
    }
    if (read->two_colors) warnings.push_back(role + ": two colors inside; mark only its plain part");
    ReferenceColor reference{role, read->mean, read->covariance, center(region), ModelSpectrum::Zero(), {}, 0};
    // the place's own light field and grain are never known better than this
    reference.rgb_covariance += (0.002 * read->mean).cwiseAbs2().asDiagonal();
    return reference;
}

/// Reflectance behind a Lab (D50, 2 degrees), with its doubt. sd: of each of L*, a*, b*; 0.3 for a value typed from a fan deck, common practice, no
/// source.
void believe_lab(const Lab& color, double sd, ReferenceColor& reference) {
    static const LibraryView view = lab_view(*light("D50"), Observer::degree2);
    const std::vector<Eigen::Vector3d> at{{color.L, color.a, color.b}};
    const Eigen::Matrix3d doubt = sd * sd * Eigen::Matrix3d::Identity();
    const LocalMap map = local_map(neighborhood({&view}, at), {&view}, at, doubt, {&reflectance_view()});
    reference.reflectance = map.mean.cwiseMax(0.001).cwiseMin(1.2);
    reference.reflectance_covariance = map.residual + map.gain * doubt * map.gain.transpose();
}

/// "LRV 18.2 \u00b1 0.3"
std::string worth(const CardReference& card) {
    const std::string spread = " \u00b1 " + figure(card.sd, 2);
    if (const auto* lrv = std::get_if<Lrv>(&card.value)) return "LRV " + figure(lrv->value, 1) + spread;
    if (const auto* color = std::get_if<Lab>(&card.value))
        return "Lab " + figure(color->L, 1) + ", " + figure(color->a, 1) + ", " + figure(color->b, 1) + spread + " each";
    return "measured spectrum, LRV" + spread;
}

Result<SeenReference> see_card(const Photo& photo, const CardReference& card, std::vector<std::string>& warnings) {
    const auto* lrv = std::get_if<Lrv>(&card.value);
    const auto* color = std::get_if<Lab>(&card.value);
    const auto* measured = std::get_if<Reflectance>(&card.value);
    const bool possible = card.sd > 0 && (lrv == nullptr || (lrv->value > 0 && lrv->value <= 100)) &&
                          (color == nullptr || (color->L > 0 && color->L <= 100 && std::hypot(color->a, color->b) < 140));
    if (!possible) {
        return unusable(Fault::known_unusable, photo, card.name, "no card can be as it says, or its spread is not above 0",
                        "remove it from the workbook and add it again with its true value");
    }
    Result<ReferenceColor> reference = sample(photo, card.region, card.name, lrv != nullptr ? Fault::gray_unusable : Fault::known_unusable, warnings);
    if (!reference) return reference.error();
    SeenReference seen{*reference, Lab{}, card.region, -1};
    if (color != nullptr) {
        believe_lab(*color, card.sd, seen.color);
        seen.color.tolerance = 0.002;  // its spread holds the rest
        seen.value = *color;
        return seen;
    }
    if (measured != nullptr) {
        seen.color.reflectance = on_model_grid(measured->value).cwiseMax(0.001);
    } else {
        seen.color.reflectance = ModelSpectrum::Constant(lrv->value / 100);
        seen.color.rgb_covariance += (kCardNeutral * seen.color.rgb).cwiseAbs2().asDiagonal();
    }
    const Eigen::Vector3d v = 100 * (observer_matrix(*light("D50"), Observer::degree2) * seen.color.reflectance);
    seen.value = lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
    seen.color.tolerance = card.sd / v[1];
    return seen;
}

/// Steepness of the neutrals' picture values against their reflectance, logarithms: about 1, and above 2 where a linear picture was taken for an
/// encoded one. Nothing with fewer than four neutrals.
std::optional<double> neutral_steepness(const std::vector<SeenReference>& references) {
    std::vector<Eigen::Vector2d> points;
    for (const SeenReference& r : references) {
        const double level = r.color.reflectance.mean(), value = r.color.rgb[1];
        if (is_neutral(r.color) && value > 1e-4) points.emplace_back(std::log(level), std::log(value));
    }
    if (points.size() < 4) return std::nullopt;
    Eigen::Vector2d mean = Eigen::Vector2d::Zero();
    for (const Eigen::Vector2d& p : points) mean += p / static_cast<double>(points.size());
    double cross = 0, own = 0;
    for (const Eigen::Vector2d& p : points) {
        cross += (p[0] - mean[0]) * (p[1] - mean[1]);
        own += (p[0] - mean[0]) * (p[0] - mean[0]);
    }
    return own > 0.2 ? std::optional<double>(cross / own) : std::nullopt;
}

}  // namespace

Result<Evidence> gather(const Photo& photo, const References& asked, const CalibrationOptions& options) {
    Evidence result;
    std::vector<SeenReference>& references = result.references;
    const auto look_at_light = [&](const Region& region) {
        if (const std::optional<LightSlope> slope = light_slope(photo, region)) result.slopes.push_back(*slope);
    };

    for (std::size_t i = 0; i < asked.grays.size(); ++i) {
        const GrayReference& gray = asked.grays[i];
        const std::string role = asked.grays.size() == 1 ? "gray card" : "gray card " + std::to_string(i + 1);
        if (!(gray.lrv > 0 && gray.lrv <= 100)) {
            return unusable(Fault::gray_unusable, photo, role, "an LRV of " + figure(gray.lrv, 1) + " is not possible",
                            "give the card's LRV, above 0 and up to 100 (a usual gray card: 18)");
        }
        Result<ReferenceColor> reference = sample(photo, gray.region, role, Fault::gray_unusable, result.warnings);
        if (!reference) return reference.error();
        reference->reflectance = ModelSpectrum::Constant(gray.lrv / 100);
        reference->tolerance = kCardTolerance;
        reference->rgb_covariance += (kCardNeutral * reference->rgb).cwiseAbs2().asDiagonal();
        const double ratio = reference->rgb.maxCoeff() / std::max(reference->rgb.minCoeff(), 1e-6);
        // lamps and daylight run from yellow to blue; a camera's white balance follows them, and hardly leaves green or magenta
        const double green = reference->rgb[1] / std::max(std::sqrt(reference->rgb[0] * reference->rgb[2]), 1e-6);
        if (ratio > 3) {
            result.warnings.push_back(role + ": reads strongly colored (" + figure(ratio, 1) +
                                      " to 1 between channels); is it a neutral card, and is the light white? Use a neutral card");
        } else if (!photo.linear && std::abs(std::log(green)) > 0.35) {
            result.warnings.push_back(role + ": reads clearly " + (green > 1 ? "green" : "magenta") + " (by " +
                                      figure(100 * std::abs(std::log(green)), 0) +
                                      " %), which no usual light makes of a neutral card; use a neutral card, or name a colored one with --known");
        }
        references.push_back(
            {*reference, lab(Xyz{gray.lrv * kWhiteD50.X / 100, gray.lrv, gray.lrv * kWhiteD50.Z / 100}, kWhiteD50), gray.region, -1});
        look_at_light(gray.region);
        result.lines.push_back(role + " " + to_text(gray.region) + ", LRV " + figure(gray.lrv, 1));
    }
    for (const KnownReference& known : asked.known) {
        const bool possible = known.lab.L > 0 && known.lab.L <= 100 && std::hypot(known.lab.a, known.lab.b) < 140;
        if (!possible) {
            return unusable(Fault::known_unusable, photo, known.name,
                            "no surface can have L*a*b* " + figure(known.lab.L, 1) + ", " + figure(known.lab.a, 1) + ", " + figure(known.lab.b, 1),
                            "give L* between 0 and 100, and a*, b* as printed for D50");
        }
        Result<ReferenceColor> reference = sample(photo, known.region, known.name, Fault::known_unusable, result.warnings);
        if (!reference) return reference.error();
        believe_lab(known.lab, 0.3, *reference);
        reference->tolerance = kChipTolerance;
        references.push_back({*reference, known.lab, known.region, -1});
        look_at_light(known.region);
        result.lines.push_back(known.name + " " + to_text(known.region) + ", Lab " + figure(known.lab.L, 1) + ", " + figure(known.lab.a, 1) + ", " +
                               figure(known.lab.b, 1));
    }
    for (const CardReference& card : asked.cards) {
        Result<SeenReference> seen = see_card(photo, card, result.warnings);
        if (!seen) return seen.error();
        references.push_back(*std::move(seen));
        look_at_light(card.region);
        result.lines.push_back(card.name + " " + to_text(card.region) + ", card of the workbook, " + worth(card));
    }
    const std::size_t before_chart = references.size();
    if (asked.chart.mode != ChartMode::none) {
        const Result<ChartSight> sight = asked.chart.mode == ChartMode::automatic ? find_chart(photo) : check_corners(photo, asked.chart.corners);
        if (!sight) return sight.error();
        const ChartCorners& corners = sight->corners;
        result.chart_corners = corners;
        result.edition = asked.chart.edition;
        result.warnings.insert(result.warnings.end(), sight->notes.begin(), sight->notes.end());
        const std::array<Region, 24> regions = patch_regions(corners);
        const ObserverMatrix to_xyz = observer_matrix(*light("D50"), Observer::degree2);
        int left_out = 0;
        for (int i = 0; i < 24; ++i) {
            const Region& region = regions[static_cast<std::size_t>(i)];
            const std::string name = "patch " + std::to_string(i + 1) + " " + chart_patch_name(i);
            const Eigen::Vector3d v = 100 * (to_xyz * chart_reflectances().col(i));
            const Lab value = lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
            if (const std::string& lost = sight->lost[static_cast<std::size_t>(i)]; !lost.empty()) {
                result.lost.emplace_back(before_chart + static_cast<std::size_t>(i),
                                         ReferenceUse{name, false, 0, false, lost, value, {}, region, center(region), false, i});
                continue;
            }
            std::vector<std::string> small_talk;  // a patch's own warnings would drown the rest
            Result<ReferenceColor> reference = sample(photo, region, name, Fault::chart_not_found, small_talk);
            if (!reference || !small_talk.empty()) {
                const bool clipped = !reference && reference.error().fault == Fault::chart_not_found;
                if (!reference && !clipped) return reference.error();
                if (!reference || small_talk.front().find("clipped") != std::string::npos) {
                    result.lost.emplace_back(before_chart + static_cast<std::size_t>(i),
                                             ReferenceUse{name, false, 0, false, "clipped or black", value, {}, region, center(region), false, i});
                    ++left_out;
                    continue;
                }
            }
            reference->reflectance = chart_reflectances().col(i);
            references.push_back({*reference, value, region, i});
        }
        if (left_out > 0)
            result.warnings.push_back((left_out == 1 ? std::string("1 patch of the chart is clipped or black and was")
                                                     : std::to_string(left_out) + " patches of the chart are clipped or black and were") +
                                      " left out; expose differently");
        if (references.size() - before_chart < 8) {
            return unusable(Fault::chart_not_found, photo, "chart", "too few of its patches can be used",
                            "expose so that neither its white clips nor its dark patches drown");
        }
        result.lines.push_back("24-patch chart, corners " + figure(corners[0].x, 0) + "," + figure(corners[0].y, 0) + " " + figure(corners[1].x, 0) +
                               "," + figure(corners[1].y, 0) + " " + figure(corners[2].x, 0) + "," + figure(corners[2].y, 0) + " " +
                               figure(corners[3].x, 0) + "," + figure(corners[3].y, 0));
    }

    std::vector<Region> things;
    for (const SeenReference& r : references) things.push_back(r.region);
    for (const auto& [place, use] : result.lost) things.push_back(use.region);
    for (std::size_t i = 0; i < asked.plain.size(); ++i) {
        const std::string role = asked.plain.size() == 1 ? "plain surrounding" : "plain surrounding " + std::to_string(i + 1);
        const Result<RegionStatistics> read = region_statistics(photo, asked.plain[i], role);
        if (!read) return read.error();
        const std::optional<PlainArea> area = plain_area(photo, asked.plain[i], things);
        if (!area) {
            result.warnings.push_back(role + ": too small, too dark or clipped to tell how the light changes; mark more of it");
        } else if (area->grain > 0.06 || area->kept < 0.4) {
            result.warnings.push_back(role + ": is not plain (it varies by " + figure(100 * area->grain, 0) +
                                      " % beyond a smooth course of light) and was not used; mark a part of one color without shadows");
        } else {
            result.plain.push_back(*area);
            result.lines.push_back(role + " " + to_text(asked.plain[i]));
        }
    }

    const std::string chips = asked.known.empty()       ? ""
                              : asked.known.size() == 1 ? "1 known chip"
                                                        : std::to_string(asked.known.size()) + " known chips";
    if (asked.chart.mode != ChartMode::none)
        result.method = "24-patch chart";
    else if (!asked.grays.empty())
        result.method = "neutral";
    const std::string cards = asked.cards.empty() ? "" : asked.cards.size() == 1 ? "1 own card" : std::to_string(asked.cards.size()) + " own cards";
    for (const std::string& more : {chips, cards}) {
        if (!more.empty()) result.method += (result.method.empty() ? "" : " and ") + more;
    }
    if (result.method.empty()) {
        result.method = "none";
        result.warnings.push_back(
            "no reference in the picture: colors are as displayed, with a wide \u00b1; put a gray card or a chart beside the parts");
    }

    // The sensor's own numbers have no white balance: green leads, which no rendered picture of a neutral does under a usable light.
    double green = 0;
    for (const SeenReference& r : references) {
        const Eigen::Vector3d& rgb = r.color.rgb;
        if (is_neutral(r.color)) green = std::max(green, rgb[1] / std::max(std::max(rgb[0], rgb[2]), 1e-6));
    }
    const bool raw = photo.sensor.has_value() || (photo.linear && green > 1.2);
    if (raw) result.lines.emplace_back("the picture holds the sensor's own values (linear, no white balance)");
    if (const std::optional<double> steep = neutral_steepness(references); steep && *steep > 1.6 && !photo.linear) {
        result.warnings.push_back("the neutrals rise " + figure(*steep, 1) +
                                  " times too steeply: the picture seems to be stored linear; load it again with --transfer linear");
    }
    result.rendering = raw ? Rendering::raw : Rendering::rendered;
    SensorSetup& setup = result.setup;
    setup.width = photo.width;
    setup.height = photo.height;
    setup.linear = photo.linear;
    double lightest = 0, darkest = 1;
    for (const SeenReference& r : references) {
        if (!is_neutral(r.color)) continue;
        lightest = std::max(lightest, r.color.reflectance.mean());
        darkest = std::min(darkest, r.color.reflectance.mean());
    }
    setup.black_and_white = lightest > 0.55 && darkest < 0.065;
    setup.free_curve = std::count_if(references.begin(), references.end(), [](const SeenReference& r) { return is_neutral(r.color); }) >= 4;
    setup.lit_by = options.lit_by;
    if (photo.sensor && photo.sensor->from_xyz_d65) {
        Eigen::Matrix3d m;
        for (int i = 0; i < 9; ++i) m(i / 3, i % 3) = (*photo.sensor->from_xyz_d65)[static_cast<std::size_t>(i)];
        if (std::optional<Sensitivity> informed = prior_of(options.lit_by, result.rendering, m)) {
            setup.prior = *std::move(informed);
            result.raw_matrix = m;
            result.lines.emplace_back("the raw file's own color matrix tells what kind of camera it is");
        } else {
            result.lines.emplace_back("the raw file's own color matrix is like no camera's and was not used");
        }
    }
    if (!result.raw_matrix) setup.prior = sensitivity_prior(options.lit_by, result.rendering);
    setup.evened = photo.evened;
    if (raw && references.empty()) {
        if (photo.sensor && photo.sensor->neutral_as_shot) {
            const std::array<double, 3>& neutral = *photo.sensor->neutral_as_shot;
            setup.white = Eigen::Vector3d(neutral[0], neutral[1], neutral[2]);
            result.warnings.emplace_back("camera raw without a reference: white is what the camera took for it; put a gray card in the picture");
        } else {
            result.warnings.emplace_back(
                "camera raw without a reference: its white is unknown and colors mean little; put a gray card in the picture");
        }
    }
    for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) setup.native(r, c) = photo.native_from_srgb[static_cast<std::size_t>(3 * r + c)];
    }
    return result;
}

}  // namespace sw
