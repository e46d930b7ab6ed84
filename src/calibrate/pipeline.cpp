#include "calibrate/pipeline.hpp"

#include <lcms2.h>
#include <lcms2_plugin.h>
#include <Eigen/LU>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <thread>

#include "calibrate/sensor_model.hpp"
#include "color/adaptation.hpp"

namespace sw {
namespace {

using PipelinePtr = std::unique_ptr<cmsPipeline, decltype(&cmsPipelineFree)>;

bool add_matrix(cmsPipeline* pipeline, const Eigen::Matrix3d& m, const Eigen::Vector3d& offset = Eigen::Vector3d::Zero()) {
    std::array<cmsFloat64Number, 9> rows{};
    for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) rows[static_cast<std::size_t>(3 * r + c)] = m(r, c);
    }
    const std::array<cmsFloat64Number, 3> shift{offset[0], offset[1], offset[2]};
    return cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocMatrix(nullptr, 3, 3, rows.data(), shift.data())) != 0;
}

/// Picture's linear sRGB -> the file's own primaries -> camera curve undone -> back -> white, flare and 3x3 -> XYZ (D50, Y = 1).
bool add_calibration(cmsPipeline* pipeline, const SensorModel& model) {
    const ToneCurve tone = model.tone();
    const Doubts& d = model.doubts();
    // 4097 points over the square root of the value: even enough in lightness for 1e-4; lcms2 clips outside 0..1 as a picture does
    constexpr int points = 4097;
    std::vector<cmsFloat32Number> root(points), undo(points);
    for (int i = 0; i < points; ++i) {
        const double x = static_cast<double>(i) / (points - 1);
        root[static_cast<std::size_t>(i)] = static_cast<cmsFloat32Number>(linear_to_srgb(x));
        undo[static_cast<std::size_t>(i)] = static_cast<cmsFloat32Number>(tone.scene(srgb_to_linear(x)));
    }
    // parametric curve type 4 inverted is IEC 61966-2-1 itself: exact, where a table over linear values would be coarse in the darks
    const std::array<cmsFloat64Number, 5> srgb{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    cmsToneCurve* decode = cmsBuildParametricToneCurve(nullptr, 4, srgb.data());
    cmsToneCurve* encode = cmsReverseToneCurve(decode);
    cmsToneCurve* curve = cmsBuildTabulatedToneCurveFloat(nullptr, points, undo.data());
    bool ok = decode != nullptr && encode != nullptr && curve != nullptr;
    if (ok) {
        const std::array<cmsToneCurve*, 3> encodes{encode, encode, encode}, curves{curve, curve, curve};
        const Eigen::Matrix3d& native = model.setup().native;
        const Eigen::Matrix3d back = native.inverse();
        Eigen::Vector3d gain;
        for (int c = 0; c < 3; ++c) gain[c] = 1 / (model.start_white()[c] * std::exp(d[c]));
        ok = add_matrix(pipeline, native) && cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, encodes.data())) != 0 &&
             cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, curves.data())) != 0 &&
             add_matrix(pipeline, model.matrix() * gain.asDiagonal() * back, -model.matrix() * Eigen::Vector3d::Constant(d[flare]));
    }
    cmsFreeToneCurve(decode);
    cmsFreeToneCurve(encode);
    cmsFreeToneCurve(curve);
    return ok;
}

Eigen::Matrix3d d50_to_linear_srgb() {
    Eigen::Matrix3d m;
    for (int j = 0; j < 3; ++j) {
        Xyz unit;
        (j == 0 ? unit.X : j == 1 ? unit.Y : unit.Z) = 100;
        const LinearRgb c = linear_rgb(adapt(unit, kWhiteD50, kWhiteD65));
        m.col(j) << c.r, c.g, c.b;
    }
    return m;
}

unsigned char to_byte(float linear) {
    // 12-bit table of the sRGB encoding is not fine enough in the darks; 16-bit is
    static const std::vector<unsigned char> table = [] {
        std::vector<unsigned char> t(65536);
        for (int i = 0; i < 65536; ++i) t[static_cast<std::size_t>(i)] = static_cast<unsigned char>(std::lround(255 * linear_to_srgb(i / 65535.0)));
        return t;
    }();
    return table[static_cast<std::size_t>(std::lround(65535 * std::clamp(linear, 0.0F, 1.0F)))];
}

/// Rows y0..y1 through a pipeline to bytes.
void convert_rows(const Photo& photo, const cmsPipeline* pipeline, int y0, int y1, std::vector<std::uint8_t>& out) {
    const std::size_t width = static_cast<std::size_t>(photo.width);
    for (std::size_t i = static_cast<std::size_t>(y0) * width; i < static_cast<std::size_t>(y1) * width; ++i) {
        std::array<cmsFloat32Number, 3> result{};
        if (pipeline != nullptr)
            cmsPipelineEvalFloat(&photo.rgb[3 * i], result.data(), pipeline);
        else
            std::copy_n(&photo.rgb[3 * i], 3, result.begin());
        for (std::size_t c = 0; c < 3; ++c) out[3 * i + c] = to_byte(result[c]);
    }
}

CorrectedPicture convert(const Photo& photo, const cmsPipeline* pipeline, const std::stop_token& stop, const std::function<void(float)>& progress) {
    CorrectedPicture picture{photo.width, photo.height,
                             std::vector<std::uint8_t>(3 * static_cast<std::size_t>(photo.width) * static_cast<std::size_t>(photo.height)), false};
    constexpr int block = 64;
    for (int y = 0; y < photo.height; y += 2 * block) {
        if (stop.stop_requested()) {
            picture.cancelled = true;
            return picture;
        }
        const int middle = std::min(y + block, photo.height), end = std::min(y + 2 * block, photo.height);
        std::jthread other([&] { convert_rows(photo, pipeline, middle, end, picture.rgb); });
        convert_rows(photo, pipeline, y, middle, picture.rgb);
        other.join();
        if (progress) progress(static_cast<float>(end) / static_cast<float>(photo.height));
    }
    return picture;
}

}  // namespace

CorrectedPicture correct_picture(const Photo& photo, const Calibration& calibration, std::stop_token stop,
                                 const std::function<void(float)>& progress) {
    const PipelinePtr pipeline(cmsPipelineAlloc(nullptr, 3, 3), &cmsPipelineFree);
    if (!pipeline || !add_calibration(pipeline.get(), *calibration.sensor) || !add_matrix(pipeline.get(), d50_to_linear_srgb()))
        return original_picture(photo);
    return convert(photo, pipeline.get(), stop, progress);
}

CorrectedPicture original_picture(const Photo& photo) { return convert(photo, nullptr, {}, {}); }

Lab pipeline_lab(const Calibration& calibration, const Eigen::Vector3d& rgb) {
    const PipelinePtr pipeline(cmsPipelineAlloc(nullptr, 3, 3), &cmsPipelineFree);
    if (!pipeline || !add_calibration(pipeline.get(), *calibration.sensor)) return {};
    const std::array<cmsFloat32Number, 3> in{static_cast<float>(rgb[0]), static_cast<float>(rgb[1]), static_cast<float>(rgb[2])};
    std::array<cmsFloat32Number, 3> out{};
    cmsPipelineEvalFloat(in.data(), out.data(), pipeline.get());
    return lab(Xyz{100.0 * static_cast<double>(out[0]), 100.0 * static_cast<double>(out[1]), 100.0 * static_cast<double>(out[2])}, kWhiteD50);
}

}  // namespace sw
