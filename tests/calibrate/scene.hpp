// Photos for tests: the simulated ones of tests/photos with their truth, and a bench made up from reflectances through a made-up camera.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "calibrate/calibration.hpp"
#include "photo/photo.hpp"
#include "slow.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"

namespace sw::test {

struct Scene {
    std::string name, file;
    nlohmann::json photo, truth;
    [[nodiscard]] const nlohmann::json& region(const char* role) const { return photo["regions"][role]; }
    [[nodiscard]] Box box(const char* role) const {
        const nlohmann::json& r = region(role)["rect"];
        return {r[0], r[1], r[2], r[3]};
    }
    [[nodiscard]] Lab lab_d50(const char* role) const {
        const nlohmann::json& v = region(role)["lab_d50"];
        return {v[0], v[1], v[2]};
    }
    [[nodiscard]] GrayReference card() const { return {box("card"), region("card")["lrv_d50_2"]}; }
    [[nodiscard]] ChartReference chart() const {
        ChartReference c{ChartMode::corners, {}};
        const nlohmann::json& k = photo["chart"]["corners_of_outer_patches"];
        for (std::size_t i = 0; i < 4; ++i) c.corners[i] = {k[2 * i], k[2 * i + 1]};
        return c;
    }
    /// A chart patch (0..23) as a chip of known color: the middle of it.
    [[nodiscard]] KnownReference patch(int i) const {
        const nlohmann::json& p = photo["chart"]["patches"][static_cast<std::size_t>(i)];
        const nlohmann::json &r = p["rect"], &v = p["lab_d50"];
        const double x = r[0], y = r[1], w = r[2], h = r[3];
        return {p["name"], Box{x + w / 4, y + h / 4, w / 2, h / 2}, Lab{v[0], v[1], v[2]}};
    }
    [[nodiscard]] double patch_clipped(int i) const { return photo["chart"]["patches"][static_cast<std::size_t>(i)]["clipped_share"]; }
};

/// Every photo of every case at hand; files that are not in the clone are looked for beside the project.
inline const std::vector<Scene>& all_scenes() {
    static const std::vector<Scene> list = [] {
        std::vector<Scene> all;
        std::vector<std::filesystem::path> folders;
        for (const auto& entry : std::filesystem::directory_iterator(std::filesystem::path(SW_TESTS) / "photos")) {
            if (entry.is_directory()) folders.push_back(entry.path());
        }
        std::sort(folders.begin(), folders.end());
        for (const std::filesystem::path& folder : folders) {
            std::ifstream in(folder / "truth.json");
            const nlohmann::json truth = nlohmann::json::parse(in);
            for (const nlohmann::json& photo : truth["photos"]) {
                const std::string file = photo["file"];
                std::filesystem::path path = folder / file;
                if (!std::filesystem::exists(path)) path = std::filesystem::path(SW_BESIDE) / "photos" / folder.filename() / file;
                if (std::filesystem::exists(path))
                    all.push_back({folder.filename().string() + (photo == truth["photos"][0] ? "" : " (2)"), path.string(), photo, truth});
            }
        }
        return all;
    }();
    return list;
}
/// The same, fewer in slow builds.
inline const std::vector<Scene>& scenes() {
    static const std::vector<Scene> list = [] {
        std::vector<Scene> some;
        for (std::size_t i = 0; i < all_scenes().size(); i += kSlow ? 5 : 1) some.push_back(all_scenes()[i]);
        return some;
    }();
    return list;
}
inline const Scene& scene(const std::string& name) {
    for (const Scene& s : all_scenes()) {
        if (s.name == name) return s;
    }
    throw std::out_of_range(name);
}
/// Loaded once a process.
inline const Photo& photo_of(const Scene& s) {
    static std::map<std::string, Photo> loaded;
    const auto at = loaded.find(s.file);
    if (at != loaded.end()) return at->second;
    Result<Photo> photo = load_photo(s.file);
    if (!photo) throw std::runtime_error(describe(photo.error()));
    return loaded.emplace(s.file, std::move(*photo)).first->second;
}

/// Lab under D50 of a reflectance.
inline Lab lab_d50(const ModelSpectrum& r) {
    static const ObserverMatrix d50 = observer_matrix(*light("D50"), Observer::degree2);
    const Eigen::Vector3d v = 100 * (d50 * r);
    return lab(Xyz{v[0], v[1], v[2]}, kWhiteD50);
}
inline ModelSpectrum surface(int i) { return surface_library().col(i).cast<double>(); }

/// A bench, 600 x 400, stored linear, gray 0.4 all over; things are laid on it. No camera curve; flare 0.3 %; grain in proportion.
class Bench {
public:
    static constexpr int kWidth = 600, kHeight = 400;
    double exposure = 0.5;                            // picture value of the diffuser
    double grain = 0.01;                              // relative, per pixel
    Eigen::Vector2d slope = Eigen::Vector2d::Zero();  // of the logarithm of the light, per half picture width

    Bench() {
        photo.path = "bench.png";
        photo.width = kWidth;
        photo.height = kHeight;
        photo.linear = true;
        photo.bits = 16;
        photo.rgb.assign(3UL * kWidth * kHeight, 0.F);
        photo.clipped.assign(1UL * kWidth * kHeight, 0);
    }
    /// Neither of the means that the prior is made around; white balance off by 10 and 15 %.
    static const SensitivityRows& camera() {
        static const SensitivityRows rows = 0.7 * sensitivity_prior(*light("LED-B3")).mean + 0.3 * sensitivity_prior(*light("D65")).mean;
        return rows;
    }
    Box lay(const Box& box, const ModelSpectrum& reflectance, double level = 1) {
        const Eigen::Vector3d seen = level * (camera() * reflectance);
        return lay_rgb(box, Eigen::Vector3d(0.9, 1, 1.15).cwiseProduct(seen + Eigen::Vector3d::Constant(0.003)));
    }
    /// rgb: of the scene, before exposure.
    Box lay_rgb(const Box& box, const Eigen::Vector3d& rgb) {
        for (int y = static_cast<int>(box.y); y < static_cast<int>(box.y + box.h); ++y) {
            for (int x = static_cast<int>(box.x); x < static_cast<int>(box.x + box.w); ++x) {
                const double light_here = std::exp(slope[0] * (x - kWidth / 2.0) / (kWidth / 2.0) + slope[1] * (y - kHeight / 2.0) / (kWidth / 2.0));
                for (int c = 0; c < 3; ++c)
                    photo.rgb[index(x, y) * 3 + static_cast<std::size_t>(c)] =
                        static_cast<float>(exposure * light_here * rgb[c] * (1 + grain * random_.normal()));
            }
        }
        return box;
    }
    Box lay_card(double level = 1, double lrv = 18) { return lay({20, 20, 100, 80}, ModelSpectrum::Constant(lrv / 100), level); }
    /// 351 x 231 pixels from (220, 150).
    ChartReference lay_chart(const Eigen::Matrix<double, kModelBands, 24>& chart = chart_reflectances()) {
        const double left = 220, top = 150, pitch = 60, side = 51;
        lay({left - 10, top - 10, 371, 251}, ModelSpectrum::Constant(0.035));
        for (int i = 0; i < 24; ++i)
            lay({left + pitch * (i % 6), top + pitch * (i / 6), side, side}, chart.col(i));  // NOLINT(bugprone-integer-division)
        return {ChartMode::corners, {Point{left, top}, {left + 351, top}, {left + 351, top + 231}, {left, top + 231}}};
    }
    void clip(const Box& box, double share) {
        const int rows = static_cast<int>(std::lround(share * box.h));
        for (int y = static_cast<int>(box.y); y < static_cast<int>(box.y) + rows; ++y) {
            for (int x = static_cast<int>(box.x); x < static_cast<int>(box.x + box.w); ++x) {
                photo.clipped[index(x, y)] = 1;
                for (std::size_t c = 0; c < 3; ++c) photo.rgb[index(x, y) * 3 + c] = 1.F;
            }
        }
    }
    Photo photo;

private:
    static std::size_t index(int x, int y) { return static_cast<std::size_t>(y) * kWidth + static_cast<std::size_t>(x); }
    Random random_{9};
};

inline bool mentions(const std::vector<std::string>& lines, const std::string& words) {
    return std::any_of(lines.begin(), lines.end(), [&](const std::string& l) { return l.find(words) != std::string::npos; });
}

}  // namespace sw::test
