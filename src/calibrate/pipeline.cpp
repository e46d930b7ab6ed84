#include "calibrate/pipeline.hpp"

#include <lcms2.h>
#include <lcms2_plugin.h>

#include <array>
#include <memory>
#include <vector>

#include "calibrate/plain_steps.hpp"

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

/// The root-polynomial as a stage: lcms2 has none of its own.
void bend(const cmsFloat32Number* in, cmsFloat32Number* out, const cmsStage* stage) {
    const auto* map = static_cast<const PlainMap*>(cmsStageData(stage));
    const Eigen::Vector3d v = (*map)(Eigen::Vector3d(in[0], in[1], in[2]));
    for (int c = 0; c < 3; ++c) out[c] = static_cast<cmsFloat32Number>(v[c]);
}

bool add_bend(cmsPipeline* pipeline, const PlainSteps& steps) {              // the stage does not own the map: the pipeline dies before it
    constexpr auto kSignature = static_cast<cmsStageSignature>(0x53776270);  // 'Swbp'
    cmsStage* stage = _cmsStageAllocPlaceholder(nullptr, kSignature, 3, 3, bend, nullptr, nullptr, const_cast<PlainMap*>(&*steps.bent));
    return cmsPipelineInsertStage(pipeline, cmsAT_END, stage) != 0;
}

/// Picture's linear sRGB -> the file's own primaries -> camera curve undone -> white, flare and 3x3 -> XYZ (D50, Y = 1).
bool add_steps(cmsPipeline* pipeline, const PlainSteps& steps) {
    // 4097 points over the sRGB-encoded value: even enough in lightness for 1e-4; lcms2 clips outside 0..1 as a picture does
    constexpr int points = 4097;
    std::vector<cmsFloat32Number> undo(points);
    for (int i = 0; i < points; ++i)
        undo[static_cast<std::size_t>(i)] = static_cast<cmsFloat32Number>(steps.tone.scene(srgb_to_linear(static_cast<double>(i) / (points - 1))));
    // parametric curve type 4 inverted is IEC 61966-2-1 itself: exact, where a table over linear values would be coarse in the darks
    const std::array<cmsFloat64Number, 5> srgb{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    cmsToneCurve* decode = cmsBuildParametricToneCurve(nullptr, 4, srgb.data());
    cmsToneCurve* encode = cmsReverseToneCurve(decode);
    cmsToneCurve* curve = cmsBuildTabulatedToneCurveFloat(nullptr, points, undo.data());
    bool ok = decode != nullptr && encode != nullptr && curve != nullptr;
    if (ok) {
        const std::array<cmsToneCurve*, 3> encodes{encode, encode, encode}, curves{curve, curve, curve};
        ok = add_matrix(pipeline, steps.native) &&
             cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, encodes.data())) != 0 &&
             cmsPipelineInsertStage(pipeline, cmsAT_END, cmsStageAllocToneCurves(nullptr, 3, curves.data())) != 0 &&
             (steps.bent ? add_matrix(pipeline, steps.to_scene, -steps.veil) && add_bend(pipeline, steps)
                         : add_matrix(pipeline, steps.matrix(), steps.offset()));
    }
    cmsFreeToneCurve(decode);
    cmsFreeToneCurve(encode);
    cmsFreeToneCurve(curve);
    return ok;
}

}  // namespace

Lab pipeline_lab(const Calibration& calibration, const Eigen::Vector3d& rgb) {
    const PlainSteps steps = plain_steps(calibration);
    const PipelinePtr pipeline(cmsPipelineAlloc(nullptr, 3, 3), &cmsPipelineFree);
    if (!pipeline || !add_steps(pipeline.get(), steps)) return {};
    const std::array<cmsFloat32Number, 3> in{static_cast<float>(rgb[0]), static_cast<float>(rgb[1]), static_cast<float>(rgb[2])};
    std::array<cmsFloat32Number, 3> out{};
    cmsPipelineEvalFloat(in.data(), out.data(), pipeline.get());
    return lab(Xyz{100.0 * static_cast<double>(out[0]), 100.0 * static_cast<double>(out[1]), 100.0 * static_cast<double>(out[2])}, kWhiteD50);
}

}  // namespace sw
