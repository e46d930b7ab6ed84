// From the references in a photo to a map from its linear RGB to color.
#pragma once

#include <Eigen/Core>
#include <array>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "color/color.hpp"
#include "color/light.hpp"
#include "photo/photo.hpp"
#include "photo/region.hpp"
#include "photo/statistics.hpp"
#include "spectral/chart_edition.hpp"

namespace sw {

struct GrayReference {
    Region region;
    double lrv = 18.0;  // 0 < LRV <= 100
};
enum class ChartMode { none, automatic, corners };
struct ChartReference {
    ChartMode mode = ChartMode::none;
    std::array<Point, 4> corners{};         // outer corners of patches 1, 6, 24, 19, upright pixels; used with ChartMode::corners
    std::optional<ChartEdition> edition{};  // nothing: told from the photo
};
struct KnownReference {
    std::string name;
    Region region;
    Lab lab;  // D50, 2 degrees
};
/// Light reflectance value of a neutral, above 0, up to 100.
struct Lrv {
    double value = 18;
};
/// A reference of one's own, known as well as its spread says: a neutral, a color (D50, 2 degrees) or a measured surface.
struct CardReference {
    std::string name;
    Region region;
    std::variant<Lrv, Lab, Reflectance> value;
    double sd = 0.5;  // points of LRV; of a Lab in each of L*, a*, b*; > 0
};
struct References {
    std::vector<GrayReference> grays;
    ChartReference chart;
    std::vector<KnownReference> known;
    std::vector<CardReference> cards{};
    std::vector<Region> plain{};  // surroundings of one color, any: how the light changes over them tells how it changes over the picture
};

/// What became of one reference: how far the finished map (made without it where that could be done) reads it from its value.
struct ReferenceUse {
    std::string name;  // "gray card", "patch 7 orange", user's name
    bool used = true;
    double de00 = 0;  // left-out difference where possible, else residual
    bool left_out = false;
    std::string remark;       // why it was not used, or what is odd about it; may be empty
    Lab value;                // what it should read, D50, 2 degrees
    std::optional<Lab> read;  // what the map reads there (left out where `left_out`); nothing: it could not be read
    Region region;            // where it was looked at
    Point at;                 // middle of it, pixels
    bool elsewhere = false;   // in the photo of a set-up, not in this one
    int patch = -1;           // of the chart, 0..23; -1: not of a chart
};

/// Leave-one-out error over the references; nothing where there are too few to leave one out: then it is unknown, not 0.
struct LeaveOneOut {
    std::optional<double> mean, p95;
    int count = 0;
};

/// A plain map beside the model, judged on the same references.
struct PlainMapScore {
    std::string name;  // "neutral", "3x3", "root-polynomial 2", "root-polynomial 3"
    LeaveOneOut loo;
};

/// How a borrowed calibration came to this photo. drift: logarithm of this photo's light and exposure over the set-up's, per channel, as the backdrop
/// shows it; nothing: it could not be seen. drift_sd: the doubt that was added to the gains.
struct SetupUse {
    std::string name, photo;            // of the set-up, and the file it was made from
    std::vector<std::string> compared;  // one line each, for people
    std::optional<Eigen::Vector3d> drift;
    Eigen::Vector3d drift_sd = Eigen::Vector3d::Zero();
};

/// A figure and its standard deviation.
struct LightFigure {
    double value = 0, sd = 0;
};
/// Two places in one picture whose tones were changed differently: HDR, lifted shadows.
struct LocalTone {
    LightFigure apart;  // by_curve: steepness of the curves, relative; else level of like cards against one surrounding, relative
    Point first, second;
    bool by_curve = false;
};
/// What the references say about the light and the rendering, beside color.
struct LightReport {
    using Figure = LightFigure;
    std::optional<Figure> veil;      // veiling light, share of white's; nothing without a white and a black reference
    Figure uneven;                   // light at the brightest place of the picture over that at the darkest, less 1
    Figure tint;                     // red over blue at the warmest place over that at the coldest, less 1
    std::string brightest, warmest;  // "upper left", "right", "middle"
    bool field_known = false;        // the course of the light is clear of its doubt: the corrected picture is leveled by it
    std::optional<LocalTone> local_tone;
    std::vector<std::string> lines;  // the figures in words, for people
};

/// Which edition the chart was taken for.
struct ChartReading {
    std::optional<ChartEdition> edition;  // nothing: it could not be told, and its patches are taken as between both
    bool told = false;                    // by the user
    double chance_2014 = 0;               // what the photo alone says, 0..1
    std::string words;                    // a sentence, for people
};

struct Evidence;    // calibrate/evidence.hpp: what the references read
struct PlainMap;    // calibrate/ladder.hpp
class SensorModel;  // calibrate/sensor_model.hpp: what the camera-and-light pair sees, with its doubt

/// The finished map. A value; the parts other folders need are here, the rest is in `sensor`.
struct Calibration {
    std::string method;                   // "none", "neutral", "neutral and 3 known chips", "24-patch chart"
    std::vector<std::string> references;  // one line each, for people: "gray card 100,20,50,50 LRV 18"
    std::vector<ReferenceUse> uses;
    LeaveOneOut loo;
    std::vector<PlainMapScore> ladder;  // plain maps on the same references; empty with fewer than two
    double maps_apart = 0;              // mean CIEDE2000 between the model and the best plain map over believable surfaces; 0 without a ladder
    std::vector<std::string> warnings;  // plain words, each with what to do
    std::string grade;                  // one line: how good the photo is
    LightReport light;
    bool absolute_ok = true;  // false: tones were changed from place to place; a color by itself is not to be trusted, a near pair's difference is
    std::optional<std::array<Point, 4>> chart_corners;  // where the chart was found
    std::optional<ChartReading> chart;                  // nothing without a chart
    std::optional<SetupUse> setup;                      // borrowed from another photo: calibrate/setup.hpp

    /// The belief about camera, light and rendering; also holds the plain map that pictures are shown with.
    std::shared_ptr<const SensorModel> sensor;
    /// Set where a plain map fits the references clearly better than the model: colors are then read by it.
    std::shared_ptr<const PlainMap> map;
    /// What all this was made from.
    std::shared_ptr<const Evidence> evidence;
};

struct CalibrationOptions {
    std::optional<Light> lit_by;  // nothing: unknown
    Observer observer = Observer::degree2;
};

/// Errors: region and gray and known faults, chart_not_found. With no references the method is "none": as displayed, with a wide interval.
[[nodiscard]] Result<Calibration> calibrate(const Photo&, const References&, const CalibrationOptions& = {});

/// Plain map of one color (camera curve undone, white, 3x3 or, where one won, the root-polynomial): XYZ with Y = 100 under D50; the fit's own
/// arithmetic (the lcms2 twin is in calibrate/pipeline.hpp). Readings go further: see read_region.
[[nodiscard]] Xyz plain_map(const Calibration&, const Eigen::Vector3d& rgb);

/// A region's color. lab_covariance is the doubt of the surface's color under `light`, everything included.
struct Reading {
    std::string name;
    Region region;
    std::string light;  // under which the figures are stated
    Observer observer = Observer::degree2;
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    Xyz xyz;  // Y = 100
    Lch lch;
    double lrv = 0, lrv_sd = 0;
    ScreenColor screen;
    bool absolute_ok = true;      // false: the figures are what a wrong picture gives, and must not be shown as a measurement
    RegionStatistics statistics;  // what the photo holds there
    std::vector<std::string> warnings;
};

/// Errors: region faults.
[[nodiscard]] Result<Reading> read_region(const Photo&, const Calibration&, const std::string& name, const Region&, const Light& under,
                                          Observer = Observer::degree2);

/// Standard deviations of L*, a*, b*.
[[nodiscard]] std::array<double, 3> lab_sd(const Eigen::Matrix3d& covariance);
[[nodiscard]] inline std::array<double, 3> lab_sd(const Reading& reading) { return lab_sd(reading.lab_covariance); }
/// Standard deviations of L*, C* and hue (degrees), to first order. Hue is unknown (NaN) where the chroma is not clear of its own spread (below two
/// standard deviations): there first order says nothing.
[[nodiscard]] std::array<double, 3> lch_sd(const Lab& color, const Eigen::Matrix3d& covariance);

}  // namespace sw
