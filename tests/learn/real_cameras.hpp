// Cameras and reflectances that lie beside the project (open data of the Academy Software Foundation): a test that wants them skips where
// has_real_cameras() says no.
#pragma once

#include <filesystem>
#include <vector>

#include "color/color.hpp"
#include "color/light.hpp"
#include "learn/camera_statistics.hpp"
#include "spectral/tables.hpp"

namespace sw::test {

inline bool has_real_cameras() { return std::filesystem::exists(beside("camera_sensitivities.csv")); }

inline Lab lab_of(const ModelSpectrum& r, const ObserverMatrix& to_xyz) {
    const Eigen::Vector3d v = 100 * (to_xyz * r), w = 100 * to_xyz.rowwise().sum();
    return lab(Xyz{v[0], v[1], v[2]}, Xyz{w[0], w[1], w[2]});
}

inline CameraTable real_cameras() {
    const Csv csv = read_csv(beside("camera_sensitivities.csv"));
    CameraTable all;
    for (std::size_t c = 1; c + 2 < csv.header.size(); c += 3) {
        Eigen::VectorXd s(kSensitivitySize);
        for (std::size_t k = 0; k < 3; ++k) s.segment<kModelBands>(static_cast<Eigen::Index>(k) * kModelBands) = column_of(csv, c + k);
        all.push_back(s);
    }
    return all;
}

inline std::vector<ModelSpectrum> real_paints(int step = 1) {
    const Csv csv = read_csv(beside("training_reflectance_190.csv"));
    std::vector<ModelSpectrum> all;
    for (std::size_t c = 1; c < csv.header.size(); c += static_cast<std::size_t>(step)) all.push_back(column_of(csv, c));
    return all;
}

/// What a camera sees under a light, white at (1, 1, 1).
inline SensitivityRows seen_by(const Eigen::VectorXd& camera, const ModelSpectrum& power) {
    SensitivityRows rows;
    for (int k = 0; k < 3; ++k) {
        rows.row(k) = camera.segment(k * kModelBands, kModelBands).cwiseProduct(power).transpose();
        rows.row(k) /= rows.row(k).sum();
    }
    return rows;
}

}  // namespace sw::test
