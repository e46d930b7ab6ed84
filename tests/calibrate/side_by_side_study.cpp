// Two outside programs on the same data: OpenCV's color correction (cv::ccm) and a matrix profile through Little CMS. Each learns from the chart and
// is judged on surfaces it has not seen. Ours may be worse nowhere.
#include <gtest/gtest.h>
#include <lcms2.h>

#include <Eigen/Dense>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <opencv2/mcc/ccm.hpp>

#include "calibrate/ladder.hpp"
#include "calibrate/scene.hpp"
#include "calibrate/sensed.hpp"
#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "learn/real_cameras.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::Matrix3Xd;
using Eigen::Vector3d;

/// RGB to XYZ (Y = 1) relative to some white.
using Map = std::function<Matrix3Xd(const Matrix3Xd&)>;

/// Bradford, as both programs do it.
Matrix3Xd adapted(const Matrix3Xd& xyz_of, const Vector3d& from, const Vector3d& to) {
    Matrix3Xd out(3, xyz_of.cols());
    for (Eigen::Index i = 0; i < xyz_of.cols(); ++i) {
        const Vector3d& v = xyz_of.col(i);
        const Xyz c = adapt(Xyz{v[0], v[1], v[2]}, Xyz{100 * from[0], 100 * from[1], 100 * from[2]}, Xyz{100 * to[0], 100 * to[1], 100 * to[2]});
        out.col(i) << c.X, c.Y, c.Z;
    }
    return out;
}

cv::Mat as_mat(const Matrix3Xd& m) {
    cv::Mat out(static_cast<int>(m.cols()), 1, CV_64FC3);
    for (int i = 0; i < m.cols(); ++i) out.at<cv::Vec3d>(i, 0) = {m(0, i), m(1, i), m(2, i)};
    return out;
}

const Vector3d kD65(kWhiteD65.X / 100, kWhiteD65.Y / 100, kWhiteD65.Z / 100);

/// OpenCV works in linear sRGB about D65: references go there by Bradford and come back so.
Map by_opencv(const Matrix3Xd& rgb, const Matrix3Xd& xyz_of, const Vector3d& white, cv::ccm::CCM_TYPE type, cv::ccm::DISTANCE_TYPE distance,
              cv::ccm::LINEAR_TYPE linear = cv::ccm::LINEARIZATION_IDENTITY) {
    cv::ccm::ColorCorrectionModel model(as_mat(rgb), as_mat(adapted(xyz_of, white, kD65)), cv::ccm::COLOR_SPACE_XYZ_D65_2);
    model.setColorSpace(cv::ccm::COLOR_SPACE_sRGB);
    model.setCCM_TYPE(type);
    model.setDistance(distance);
    model.setLinear(linear);
    model.setLinearGamma(2.2);
    model.run();
    return [model, white](const Matrix3Xd& seen) mutable {
        const cv::Mat out = model.infer(as_mat(seen), true);
        Matrix3Xd back(3, seen.cols());
        for (Eigen::Index i = 0; i < seen.cols(); ++i) {
            const auto v = out.at<cv::Vec3d>(static_cast<int>(i), 0);
            const Xyz c = xyz(LinearRgb{v[0], v[1], v[2]});
            back.col(i) << c.X / 100, c.Y / 100, c.Z / 100;
        }
        return adapted(back, kD65, white);
    };
}

/// Least squares 3 x 3 as a matrix profile, read by Little CMS into XYZ of its connection space (D50).
Map by_lcms(const Matrix3Xd& rgb, const Matrix3Xd& xyz_of, const Vector3d& white) {
    const Vector3d d50(0.9642, 1, 0.8249);  // ICC.1, of the connection space
    const Matrix3Xd goal = adapted(xyz_of, white, d50);
    const Matrix3d m = (goal * rgb.transpose()) * (rgb * rgb.transpose()).inverse();
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(nullptr);
    cmsSetProfileVersion(profile, 4.3);
    cmsSetDeviceClass(profile, cmsSigInputClass);
    cmsSetColorSpace(profile, cmsSigRgbData);
    cmsSetPCS(profile, cmsSigXYZData);
    cmsCIEXYZ media{d50[0], d50[1], d50[2]};
    cmsWriteTag(profile, cmsSigMediaWhitePointTag, &media);
    const std::array<cmsTagSignature, 3> colorants{cmsSigRedColorantTag, cmsSigGreenColorantTag, cmsSigBlueColorantTag};
    const std::array<cmsTagSignature, 3> curves{cmsSigRedTRCTag, cmsSigGreenTRCTag, cmsSigBlueTRCTag};
    cmsToneCurve* straight = cmsBuildGamma(nullptr, 1.0);
    for (int c = 0; c < 3; ++c) {
        cmsCIEXYZ column{m(0, c), m(1, c), m(2, c)};
        cmsWriteTag(profile, colorants[static_cast<std::size_t>(c)], &column);
        cmsWriteTag(profile, curves[static_cast<std::size_t>(c)], straight);
    }
    cmsFreeToneCurve(straight);
    cmsHPROFILE lab_profile = cmsCreateLab4Profile(nullptr);
    const std::shared_ptr<void> transform(
        cmsCreateTransform(profile, TYPE_RGB_DBL, lab_profile, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE), cmsDeleteTransform);
    cmsCloseProfile(profile);
    cmsCloseProfile(lab_profile);
    return [transform, white, d50](const Matrix3Xd& seen) {
        Matrix3Xd labs = seen;
        cmsDoTransform(transform.get(), seen.data(), labs.data(), static_cast<cmsUInt32Number>(seen.cols()));
        Matrix3Xd back(3, seen.cols());
        for (Eigen::Index i = 0; i < seen.cols(); ++i) {
            const Xyz c = xyz(Lab{labs(0, i), labs(1, i), labs(2, i), Xyz{100 * d50[0], 100, 100 * d50[2]}});
            back.col(i) << c.X / 100, c.Y / 100, c.Z / 100;
        }
        return adapted(back, d50, white);
    };
}

struct Method {
    std::string name;
    std::vector<double> errors;
};

Lab lab_at(const Vector3d& v, const Vector3d& white) {
    return lab(Xyz{100 * v[0], 100 * v[1], 100 * v[2]}, Xyz{100 * white[0], 100 * white[1], 100 * white[2]});
}

const std::vector<std::pair<const char*, cv::ccm::DISTANCE_TYPE>> kDistances{
    {"CIEDE2000", cv::ccm::DISTANCE_CIE2000}, {"linear RGB", cv::ccm::DISTANCE_RGBL},
    {"CIELAB 1976", cv::ccm::DISTANCE_CIE76}, {"CIE94", cv::ccm::DISTANCE_CIE94_GRAPHIC_ARTS},
    {"CMC 1:1", cv::ccm::DISTANCE_CMC_1TO1},  {"CMC 2:1", cv::ccm::DISTANCE_CMC_2TO1},
    {"sRGB", cv::ccm::DISTANCE_RGB}};

/// All of OpenCV's distances with SW_MANY set, else its default one and the linear one.
std::map<std::string, Map> outside_maps(const Matrix3Xd& rgb, const Matrix3Xd& xyz_of, const Vector3d& white) {
    const std::size_t distances = std::getenv("SW_MANY") != nullptr ? kDistances.size() : 2;
    std::map<std::string, Map> maps;
    for (std::size_t d = 0; d < distances; ++d) {
        for (const auto& [form, type] : {std::pair{"3x3", cv::ccm::CCM_3x3}, {"4x3", cv::ccm::CCM_4x3}}) {
            maps[std::string("OpenCV ") + form + ", " + kDistances[d].first] = by_opencv(rgb, xyz_of, white, type, kDistances[d].second);
        }
    }
    maps["Little CMS, matrix profile"] = by_lcms(rgb, xyz_of, white);
    return maps;
}

void judge(const std::vector<Method>& methods, const std::string& where) {
    const double mean = test::mean_of(methods[0].errors), p95 = test::quantile_of(methods[0].errors, 0.95);
    for (const Method& m : methods) {
        std::printf("%-24s %-30s %5.2f / %5.2f\n", where.c_str(), m.name.c_str(), test::mean_of(m.errors), test::quantile_of(m.errors, 0.95));
        if (&m == &methods[0]) continue;
        EXPECT_LE(mean, test::mean_of(m.errors)) << where << ": " << m.name;
        EXPECT_LE(p95, test::quantile_of(m.errors, 0.95)) << where << ": " << m.name;
    }
}

// Real cameras, the chart as reference, surfaces that no prior has seen; ours with statistics learned from the other cameras, and the light known as
// it is to the outside programs (they get its XYZ). The plain map alone is held to theirs as well.
TEST(SideBySide, RealCamerasOnUnseenSurfaces) {
    if (!test::has_real_cameras()) GTEST_SKIP() << "the table of cameras lies beside the project";
    const bool many = std::getenv("SW_MANY") != nullptr;
    const test::CameraTable all = test::real_cameras();
    const std::vector<ModelSpectrum> surfaces = test::real_paints(many ? 1 : 4);
    std::printf("%-24s %-30s mean / 95 %% of dE00, %zu surfaces\n", "light, patch noise", "program", surfaces.size());
    for (const auto& [name, noise] : {std::pair{"D65", 0.0}, {"LED-B1", 0.01}}) {
        const Light l = *light(name);
        const ModelSpectrum power = on_model_grid(l.power);
        const ObserverMatrix to_xyz = observer_matrix(l, Observer::degree2);
        const Vector3d white = to_xyz.rowwise().sum();
        const LibraryView target = lab_view(l, Observer::degree2);
        std::vector<Method> methods{{"ours, the model", {}}, {"ours, best plain map", {}}};
        Random random(3);
        for (std::size_t c = 0; c < all.size(); c += many ? 1 : 4) {
            test::CameraTable others = all;
            others.erase(others.begin() + static_cast<std::ptrdiff_t>(c));
            const SensitivityRows rows = test::seen_by(all[c], power);
            const Sensitivity prior = sensitivity_prior(l, Rendering::raw, test::learn_statistics(others, 10));
            MapReferences chart{Matrix3Xd(3, 24), Matrix3Xd(3, 24), Eigen::VectorXd::Ones(24)};
            std::vector<ReferenceColor> references;
            for (int i = 0; i < 24; ++i) {
                const ModelSpectrum r = chart_reflectances().col(i);
                Vector3d rgb = rows * r;
                for (double& v : rgb) v *= 1 + noise * random.normal();
                references.push_back({"patch", rgb, ((noise + 1e-4) * rgb).cwiseAbs2().asDiagonal(), {500, 500}, r, {}, 0});
                chart.scene.col(i) = rgb;
                chart.xyz.col(i) = to_xyz * r;
            }
            Calibration calibration;
            calibration.sensor =
                std::make_shared<const SensorModel>(SensorSetup{1000, 1000, Matrix3d::Identity(), true, l, prior, {}, false, 0}, references);
            const PlainMap plain = best_rung(ladder(best_matrix(prior.mean, to_xyz), white, chart)).map;
            Matrix3Xd seen(3, surfaces.size());
            for (std::size_t i = 0; i < surfaces.size(); ++i) seen.col(static_cast<Eigen::Index>(i)) = rows * surfaces[i];
            std::map<std::string, Matrix3Xd> read;
            for (const auto& [program, map] : outside_maps(chart.scene, chart.xyz, white)) read[program] = map(seen);
            for (const auto& [program, values] : read) {
                if (methods.size() < 2 + read.size()) methods.push_back({program, {}});
            }
            for (std::size_t i = 0; i < surfaces.size(); ++i) {
                const Lab truth = test::lab_of(surfaces[i], to_xyz);
                const auto at = static_cast<Eigen::Index>(i);
                RegionStatistics region;
                region.mean = seen.col(at);
                region.covariance = (1e-4 * region.mean).cwiseAbs2().asDiagonal();
                const Vector3d ours = surface_color(calibration, region, {500, 500}, l, Observer::degree2, target).lab;
                methods[0].errors.push_back(difference_2000(truth, Lab{ours[0], ours[1], ours[2], truth.white}));
                methods[1].errors.push_back(difference_2000(truth, lab_at(plain(seen.col(at)), white)));
                for (std::size_t m = 2; m < methods.size(); ++m)
                    methods[m].errors.push_back(difference_2000(truth, lab_at(read.at(methods[m].name).col(at), white)));
            }
        }
        judge(methods, std::string(name) + (noise > 0 ? ", 1 %" : ", none"));
        methods.erase(methods.begin());
        EXPECT_LE(test::mean_of(methods[0].errors), test::mean_of(methods.back().errors)) << "the plain map against " << methods.back().name;
    }
}

// The simulated photos: all get the same patches, read by the same statistics, and the mean of 30 charts that the photos were rendered with (OpenCV
// and Little CMS as their reference values, ours must find out). Judged on chip and swatch. The photos are sRGB pictures with a camera's curve:
// OpenCV also gets its own ways to undo one.
TEST(SideBySide, SimulatedPhotos) {
    if (test::scenes().empty()) GTEST_SKIP() << "no photos";
    const bool many = std::getenv("SW_MANY") != nullptr;
    std::vector<Method> methods{{"ours", {}}};
    const Vector3d d50(kWhiteD50.X / 100, 1, kWhiteD50.Z / 100);
    std::size_t count = 0;
    for (const test::Scene& scene : test::scenes()) {
        if (scene.file.find("case-01") != std::string::npos || scene.file.find("case-16") != std::string::npos) continue;  // the two large files
        if (!many && count++ % 3 != 0) continue;
        const Photo& photo = test::photo_of(scene);
        References references;
        const nlohmann::json& corners = scene.photo["chart"]["corners_of_outer_patches"];
        references.chart.mode = ChartMode::corners;
        for (std::size_t i = 0; i < 4; ++i) references.chart.corners[i] = {corners[2 * i], corners[2 * i + 1]};
        const Result<Calibration> calibration = calibrate(photo, references);
        ASSERT_TRUE(calibration) << scene.name;
        Matrix3Xd rgb(3, 24), goal(3, 24);
        Eigen::Index patches = 0;
        for (const ReferenceUse& use : calibration->uses) {
            if (!use.read) continue;
            const Result<RegionStatistics> read = region_statistics(photo, use.region, use.name);
            ASSERT_TRUE(read);
            const nlohmann::json& lab_of = scene.photo["chart"]["patches"][static_cast<std::size_t>(use.patch)]["lab_d50"];
            const Xyz v = xyz(Lab{lab_of[0], lab_of[1], lab_of[2], kWhiteD50});
            rgb.col(patches) = read->mean;
            goal.col(patches++) << v.X / 100, v.Y / 100, v.Z / 100;
        }
        std::map<std::string, Map> maps = outside_maps(rgb.leftCols(patches), goal.leftCols(patches), d50);
        for (const auto& [how, linear] : {std::pair{"gamma", cv::ccm::LINEARIZATION_GAMMA}, {"polynomial", cv::ccm::LINEARIZATION_COLORPOLYFIT}}) {
            Matrix3Xd encoded = rgb.leftCols(patches);
            for (double& v : encoded.reshaped()) v = linear_to_srgb(std::clamp(v, 0.0, 1.0));
            const Map map = by_opencv(encoded, goal.leftCols(patches), d50, cv::ccm::CCM_3x3, cv::ccm::DISTANCE_CIE2000, linear);
            maps[std::string("OpenCV 3x3, curve by ") + how] = [map](const Matrix3Xd& seen) {
                Matrix3Xd codes = seen;
                for (double& v : codes.reshaped()) v = linear_to_srgb(std::clamp(v, 0.0, 1.0));
                return map(codes);
            };
        }
        if (methods.size() == 1) {
            for (const auto& [program, map] : maps) methods.push_back({program, {}});
        }
        for (const char* thing : {"chip", "swatch"}) {
            const nlohmann::json& region = scene.photo["regions"][thing];
            const nlohmann::json &r = region["rect"], &t = region["lab_d50"];
            const Box box{r[0], r[1], r[2], r[3]};
            const Lab truth{t[0], t[1], t[2], kWhiteD50};
            const Result<Reading> reading = read_region(photo, *calibration, thing, box, *light("D50"));
            ASSERT_TRUE(reading);
            methods[0].errors.push_back(difference_2000(truth, reading->lab));
            for (std::size_t m = 1; m < methods.size(); ++m)
                methods[m].errors.push_back(difference_2000(truth, lab_at(maps.at(methods[m].name)(reading->statistics.mean).col(0), d50)));
        }
    }
    judge(methods, "photos, " + std::to_string(methods[0].errors.size()) + " colors");
}

}  // namespace
}  // namespace sw
