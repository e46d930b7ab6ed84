// The demo's camera. Its sensitivities are made up from the CIE 1931 observer by mixing and shifting; they are no real camera's.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "color/light.hpp"
#include "color/spectrum.hpp"
#include "demo/picture.hpp"

namespace demo {

struct CameraSettings {
    double shift_nm = 0;         // moves the sensitivities: another camera
    std::string preset = "D65";  // light for which the white balance is set to begin with
    double adapted = 0.9;        // 0: left at the preset, 1: set for the light there is
    double white = 0.8;          // exposure: where the perfect diffuser lands, linear, 1 = clipped
    double flare = 0.004;        // share of the whole picture's light spread over it
    double full_well = 14000;    // electrons at 1
    double read_noise = 5;       // electrons
    double blur = 0.65;          // pixels
    double contrast = 0.2;       // of the S-shaped tone curve
    double shoulder = 0;         // how much it lets highlights run out softly
    bool wide = false;           // encode for the primaries of SMPTE EG 432-1 (P3, white D65) instead of those of sRGB
    std::uint64_t seed = 1;
};

class Camera {
public:
    /// `chart`: the 24 patches to which cameras' makers fit their color matrix.
    Camera(const CameraSettings& settings, const std::vector<sw::Reflectance>& chart);

    /// What the three kinds of pixel see of a surface under a light; the perfect diffuser gives green 1.
    [[nodiscard]] Eigen::Vector3f sees(const sw::Reflectance& surface, const sw::Light& light) const;

    /// From what the pixels see (see `sees`) to encoded values of 8 bits, as the camera would store them: blur, flare, photon and read noise, white
    /// balance, color matrix, tone curve, the transfer of IEC 61966-2-1.
    [[nodiscard]] std::vector<std::uint8_t> develop(Picture scene, const sw::Light& light) const;

    /// Linear RGB on the primaries of sRGB, before the tone curve, for scenes that go another way (film).
    [[nodiscard]] Eigen::Vector3f linear_srgb(const Eigen::Vector3f& seen, const sw::Light& light) const;

    /// XYZ (Y = 100) that the best 3x3 matrix for this light, fitted to the chart without noise, makes of a surface: what this camera could know.
    [[nodiscard]] sw::Xyz at_best(const sw::Reflectance& surface, const sw::Light& light) const;

private:
    [[nodiscard]] static sw::Reflectance plain_white();
    [[nodiscard]] Eigen::Matrix3d balance(const sw::Light& light) const;  // camera values to linear sRGB

    CameraSettings settings_;
    std::vector<sw::Reflectance> chart_;
    std::array<sw::Bands, 3> sensitivity_;
    Eigen::Matrix3d matrix_;  // balanced camera values to linear sRGB; rows add up to 1
};

}  // namespace demo
