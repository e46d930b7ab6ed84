#include "demo/camera.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "color/color.hpp"

namespace demo {
namespace {

/// A color matching function read between its bands.
double shifted(const sw::Bands& bands, double nm) {
    const double at = std::clamp(nm - sw::kFirstNm, 0.0, static_cast<double>(sw::kBands - 1) - 1e-9);
    const std::size_t i = static_cast<std::size_t>(at);
    return std::lerp(bands[i], bands[i + 1], at - static_cast<double>(i));
}

double bump(double at, double center, double width) { return std::exp(-0.5 * std::pow((at - center) / width, 2)); }

double tone(double linear, const CameraSettings& settings) {
    // The shoulder is Reinhard's, scaled to leave 1 at 1; the S works on the encoded value and leaves 0, 1/2 and 1 alone.
    const double v = std::clamp(linear, 0.0, 1.0);
    const double soft = v * (1 + settings.shoulder) / (1 + settings.shoulder * v);
    const double e = sw::linear_to_srgb(soft);
    return std::clamp(e + settings.contrast * 2 * e * (1 - e) * (2 * e - 1), 0.0, 1.0);
}

}  // namespace

Camera::Camera(const CameraSettings& settings, const std::vector<sw::Reflectance>& chart)
    : settings_(settings), chart_(chart), sensitivity_{}, matrix_{} {
    const auto& cmf = sw::color_matching(sw::Observer::degree2);
    for (std::size_t i = 0; i < sw::kBands; ++i) {
        const double nm = sw::kFirstNm + static_cast<double>(i) + settings.shift_nm;
        const double x = shifted(cmf[0], nm - 2);
        const double y = shifted(cmf[1], nm - 3);
        const double green = shifted(cmf[1], nm + 9);
        const double blue = shifted(cmf[2], nm - 7);
        // Filter against infrared, and a sensor that is weaker in the blue.
        const double glass = (0.75 + 0.25 * (nm - 400) / 300) / (1 + std::exp((nm - 672) / 11));
        sensitivity_[0][i] = glass * std::max(0.0, 0.72 * x - 0.115 * shifted(cmf[2], nm) + 0.16 * y + 0.05 * bump(nm, 606, 14));
        sensitivity_[1][i] = glass * std::max(0.0, 0.92 * green + 0.035 * blue + 0.05 * bump(nm, 505, 16));
        sensitivity_[2][i] = glass * std::max(0.0, 0.50 * blue + 0.07 * green + 0.04 * bump(nm, 475, 12));
    }
    // The camera's own matrix: for D65, least squares on the chart in linear light, neutral kept neutral.
    const sw::Light daylight = *sw::light("D65");
    const Eigen::Vector3d white = sees(plain_white(), daylight).cast<double>();
    Eigen::MatrixXd seen(chart.size(), 2);
    Eigen::MatrixXd wanted(chart.size(), 3);
    for (std::size_t k = 0; k < chart.size(); ++k) {
        const auto row = static_cast<Eigen::Index>(k);
        const Eigen::Vector3d balanced = sees(chart[k], daylight).cast<double>().cwiseQuotient(white);
        const sw::LinearRgb rgb = sw::linear_rgb(sw::xyz(chart[k], daylight, sw::Observer::degree2));
        seen.row(row) << balanced[0] - balanced[1], balanced[2] - balanced[1];
        wanted.row(row) << rgb.r - balanced[1], rgb.g - balanced[1], rgb.b - balanced[1];
    }
    const Eigen::MatrixXd fit = (seen.transpose() * seen).ldlt().solve(seen.transpose() * wanted);  // 2 x 3
    for (Eigen::Index channel = 0; channel < 3; ++channel)
        matrix_.row(channel) << fit(0, channel), 1 - fit(0, channel) - fit(1, channel), fit(1, channel);
}

sw::Reflectance Camera::plain_white() {
    sw::Reflectance white;
    white.value.fill(1);
    return white;
}

Eigen::Vector3f Camera::sees(const sw::Reflectance& surface, const sw::Light& light) const {
    Eigen::Vector3d sum = Eigen::Vector3d::Zero();
    double white = 0;
    for (std::size_t i = 0; i < sw::kBands; ++i) {
        white += light.power[i] * sensitivity_[1][i];
        for (std::size_t k = 0; k < 3; ++k) sum[static_cast<Eigen::Index>(k)] += light.power[i] * sensitivity_[k][i] * surface.value[i];
    }
    return (sum / white).cast<float>();
}

Eigen::Matrix3d Camera::balance(const sw::Light& light) const {
    const Eigen::Vector3d here = sees(plain_white(), light).cast<double>();
    const Eigen::Vector3d preset = sees(plain_white(), *sw::light(settings_.preset)).cast<double>();
    Eigen::Vector3d gain;
    for (Eigen::Index k = 0; k < 3; ++k) gain[k] = 1 / (std::pow(here[k], settings_.adapted) * std::pow(preset[k], 1 - settings_.adapted));
    return matrix_ * gain.asDiagonal();
}

Eigen::Vector3f Camera::linear_srgb(const Eigen::Vector3f& seen, const sw::Light& light) const {
    return (balance(light) * seen.cast<double>()).cast<float>();
}

sw::Xyz Camera::at_best(const sw::Reflectance& surface, const sw::Light& light) const {
    Eigen::MatrixXd seen(chart_.size(), 3);
    Eigen::MatrixXd wanted(chart_.size(), 3);
    for (std::size_t k = 0; k < chart_.size(); ++k) {
        const sw::Xyz color = sw::xyz(chart_[k], light, sw::Observer::degree2);
        seen.row(static_cast<Eigen::Index>(k)) = sees(chart_[k], light).cast<double>();
        wanted.row(static_cast<Eigen::Index>(k)) << color.X, color.Y, color.Z;
    }
    const Eigen::Matrix3d fit = (seen.transpose() * seen).ldlt().solve(seen.transpose() * wanted);
    const Eigen::Vector3d color = fit.transpose() * sees(surface, light).cast<double>();
    return {color[0], color[1], color[2]};
}

std::vector<std::uint8_t> Camera::develop(Picture scene, const sw::Light& light) const {
    blur(scene, settings_.blur);
    Eigen::Vector3f mean = Eigen::Vector3f::Zero();
    for (const Eigen::Vector3f& pixel : scene.pixels) mean += pixel;
    mean /= static_cast<float>(scene.pixels.size());
    const float flare = static_cast<float>(settings_.flare);
    for (std::size_t i = 0; i < scene.pixels.size(); ++i) {
        Eigen::Vector3f& pixel = scene.pixels[i];
        pixel = (1 - flare) * pixel + flare * mean;
        for (int k = 0; k < 3; ++k) {
            const double electrons = std::max(0.0, settings_.white * settings_.full_well * static_cast<double>(pixel[k]));
            const double noise = std::sqrt(electrons + settings_.read_noise * settings_.read_noise);
            const double read = electrons + noise * normal(settings_.seed, 3 * i + static_cast<std::size_t>(k));
            pixel[k] = static_cast<float>(std::min(read / settings_.full_well, 1.0));
        }
    }
    // Cameras smooth color more than lightness.
    const Eigen::Vector3d here = sees(plain_white(), light).cast<double>();
    Picture color = scene;
    blur(color, 1.2);
    for (std::size_t i = 0; i < scene.pixels.size(); ++i) {
        const Eigen::Vector3f balanced = scene.pixels[i].cwiseQuotient(here.cast<float>());
        const Eigen::Vector3f smooth = color.pixels[i].cwiseQuotient(here.cast<float>());
        const float step = (balanced - smooth).dot(Eigen::Vector3f{0.25F, 0.6F, 0.15F});
        scene.pixels[i] = (smooth.array() + step).matrix().cwiseProduct(here.cast<float>());
    }
    // Linear primaries of sRGB to those of SMPTE EG 432-1, both with white D65 (from the chromaticities; rows add up to 1).
    Eigen::Matrix3d primaries = Eigen::Matrix3d::Identity();
    if (settings_.wide) primaries << 0.822462, 0.177538, 0, 0.033194, 0.966806, 0, 0.017083, 0.072397, 0.910520;
    const Eigen::Matrix3d to_rgb = primaries * balance(light);
    std::vector<std::uint8_t> encoded;
    encoded.reserve(3 * scene.pixels.size());
    for (const Eigen::Vector3f& pixel : scene.pixels) {
        const Eigen::Vector3d rgb = to_rgb * pixel.cast<double>();
        for (Eigen::Index k = 0; k < 3; ++k) encoded.push_back(static_cast<std::uint8_t>(std::lround(255 * tone(rgb[k], settings_))));
    }
    return encoded;
}

}  // namespace demo
