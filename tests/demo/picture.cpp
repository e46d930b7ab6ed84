#include "demo/picture.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace demo {
namespace {

std::uint64_t mixed(std::uint64_t seed, std::uint64_t index) {  // Steele, Lea & Flood 2014 (SplitMix)
    std::uint64_t z = seed * 0x9E3779B97F4A7C15ULL + (index + 1) * 0xD1B54A32D192ED03ULL;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

}  // namespace

void blur(Picture& picture, double sigma) {
    const int reach = static_cast<int>(std::ceil(3 * sigma));
    std::vector<float> weight;
    float sum = 0;
    for (int k = -reach; k <= reach; ++k) {
        weight.push_back(static_cast<float>(std::exp(-0.5 * k * k / (sigma * sigma))));
        sum += weight.back();
    }
    for (float& w : weight) w /= sum;
    Picture across(picture.width, picture.height);
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) {
            for (int k = -reach; k <= reach; ++k)
                across.at(x, y) += weight[static_cast<std::size_t>(k + reach)] * picture.at(std::clamp(x + k, 0, picture.width - 1), y);
        }
    }
    for (int y = 0; y < picture.height; ++y) {
        for (int x = 0; x < picture.width; ++x) {
            picture.at(x, y).setZero();
            for (int k = -reach; k <= reach; ++k)
                picture.at(x, y) += weight[static_cast<std::size_t>(k + reach)] * across.at(x, std::clamp(y + k, 0, picture.height - 1));
        }
    }
}

double uniform(std::uint64_t seed, std::uint64_t index) { return (static_cast<double>(mixed(seed, index) >> 11) + 0.5) * 0x1p-53; }

double normal(std::uint64_t seed, std::uint64_t index) {
    return std::sqrt(-2 * std::log(uniform(seed, 2 * index))) * std::cos(2 * std::numbers::pi * uniform(seed, 2 * index + 1));
}

double smooth_noise(std::uint64_t seed, double x, double y) {
    const double fx = std::floor(x);
    const double fy = std::floor(y);
    const auto corner = [&](double cx, double cy) {
        return 2 * uniform(seed, (static_cast<std::uint64_t>(static_cast<std::int64_t>(cx)) << 32) ^
                                     static_cast<std::uint32_t>(static_cast<std::int64_t>(cy))) -
               1;
    };
    const double u = smooth_step(0, 1, x - fx);
    const double v = smooth_step(0, 1, y - fy);
    const double top = std::lerp(corner(fx, fy), corner(fx + 1, fy), u);
    const double bottom = std::lerp(corner(fx, fy + 1), corner(fx + 1, fy + 1), u);
    return std::lerp(top, bottom, v);
}

double smooth_step(double a, double b, double v) {
    const double t = std::clamp((v - a) / (b - a), 0.0, 1.0);
    return t * t * (3 - 2 * t);
}

Eigen::Vector2d Projection::pixel(double x_mm, double y_mm) const { return (to_pixels * Eigen::Vector3d{x_mm, y_mm, 1}).hnormalized(); }

Projection projection(double w_mm, double h_mm, int width, int height, double pixels_per_mm, double turn, double lean_x, double lean_y) {
    const double angle = turn * std::numbers::pi / 180;
    Eigen::Matrix3d center = Eigen::Matrix3d::Identity();
    center(0, 2) = -w_mm / 2;
    center(1, 2) = -h_mm / 2;
    Eigen::Matrix3d lens;
    lens << pixels_per_mm * std::cos(angle), -pixels_per_mm * std::sin(angle), 0,  //
        pixels_per_mm * std::sin(angle), pixels_per_mm * std::cos(angle), 0,       //
        -lean_x / w_mm, -lean_y / h_mm, 1;
    Eigen::Matrix3d middle = Eigen::Matrix3d::Identity();
    middle(0, 2) = width / 2.0;
    middle(1, 2) = height / 2.0;
    return {middle * lens * center};
}

}  // namespace demo
