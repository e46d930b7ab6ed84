// What the demo's scenes are drawn into and drawn with: float pictures, seeded noise, a projection, soft edges.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <vector>

namespace demo {

/// Linear values, three a pixel. What the three stand for is said where it is made.
struct Picture {
    int width = 0, height = 0;
    std::vector<Eigen::Vector3f> pixels;

    Picture(int w, int h) : width(w), height(h), pixels(static_cast<std::size_t>(w) * static_cast<std::size_t>(h), Eigen::Vector3f::Zero()) {}
    [[nodiscard]] Eigen::Vector3f& at(int x, int y) {
        return pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
    }
    [[nodiscard]] const Eigen::Vector3f& at(int x, int y) const {
        return pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
    }
};

/// Gaussian blur, edges held. sigma in pixels.
void blur(Picture& picture, double sigma);

/// Noise without state: the same arguments give the same figure, on every machine.
[[nodiscard]] double uniform(std::uint64_t seed, std::uint64_t index);  // 0..1
[[nodiscard]] double normal(std::uint64_t seed, std::uint64_t index);   // mean 0, standard deviation 1
/// Smooth noise over a plane, about -1..1; features about one unit wide.
[[nodiscard]] double smooth_noise(std::uint64_t seed, double x, double y);

/// 0 below a, 1 above b, smooth between.
[[nodiscard]] double smooth_step(double a, double b, double v);

/// Bench (mm) to picture (pixels, y down): scale, turn, shift and a little perspective.
struct Projection {
    Eigen::Matrix3d to_pixels = Eigen::Matrix3d::Identity();
    [[nodiscard]] Eigen::Vector2d pixel(double x_mm, double y_mm) const;
};
/// pixels_per_mm at the middle of a bench of w x h mm; turn in degrees; lean: relative growth from top to bottom and from left to right.
[[nodiscard]] Projection projection(double w_mm, double h_mm, int width, int height, double pixels_per_mm, double turn, double lean_x, double lean_y);

}  // namespace demo
