#include "demo/bench.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/paint.hpp"

namespace demo {
namespace {

constexpr int kSub = 3;                          // samples across a pixel
constexpr double kLampX = -0.85, kLampY = -1.1;  // where the lamp hangs, seen from the bench: shadows fall the other way, mm a mm of height

Projection of(const Bench& bench) {
    return projection(bench.w_mm, bench.h_mm, bench.width, bench.height, bench.pixels_per_mm, bench.turn, bench.lean_x, bench.lean_y);
}

/// Position within the item, mm from its middle.
Eigen::Vector2d inside(const Item& item, double x, double y) {
    const Eigen::Vector2d from{x - item.x - item.w / 2, y - item.y - item.h / 2};
    if (item.turn == 0) return from;
    const double angle = -item.turn * std::numbers::pi / 180;
    return {std::cos(angle) * from[0] - std::sin(angle) * from[1], std::sin(angle) * from[0] + std::cos(angle) * from[1]};
}

/// Distance to the item's edge, negative inside.
double distance(const Item& item, double x, double y) {
    const Eigen::Vector2d p = inside(item, x, y).cwiseAbs();
    const Eigen::Vector2d out = p - Eigen::Vector2d{item.w / 2 - item.corner_mm, item.h / 2 - item.corner_mm};
    return out.cwiseMax(0).norm() + std::min(out.maxCoeff(), 0.0) - item.corner_mm;
}

/// Share of the light that an item's shadow takes away at a place below it: dark right at the edge, soft farther out.
double shadow(const Item& item, double x, double y) {
    const double reach = std::max(0.5, item.height_mm);
    const double cast = distance(item, x + kLampX * item.height_mm, y + kLampY * item.height_mm);
    const double close = distance(item, x, y);
    return 0.42 * (1 - smooth_step(-0.7 * reach, 0.9 * reach, cast)) + 0.20 * (1 - smooth_step(-0.3, 1.6 * reach, close));
}

double board_texture(const Bench& bench, double x, double y) {
    // Fibers lie mostly along the board.
    return 0.022 * smooth_noise(bench.seed + 11, x / 14, y / 6) + 0.018 * smooth_noise(bench.seed + 12, x / 2.2, y / 0.55) +
           0.016 * smooth_noise(bench.seed + 13, x / 0.8, y / 0.35) + 0.012 * smooth_noise(bench.seed + 14, x / 60, y / 40);
}

}  // namespace

Picture render(const Bench& bench, const std::function<Eigen::Vector3f(const sw::Reflectance&)>& sees) {
    const Eigen::Matrix3d to_bench = of(bench).to_pixels.inverse();
    const Eigen::Vector3f board = sees(bench.board);
    std::vector<Eigen::Vector3f> seen;
    for (const Item& item : bench.items) seen.push_back(sees(item.surface));
    Picture picture(bench.width, bench.height);
    // What reaches a place, and how its surface varies: the same for all samples of a pixel that lie on the same thing.
    const auto brightness = [&](int top, double x, double y) {
        double lit = 1;
        for (std::size_t k = static_cast<std::size_t>(top + 1); k < bench.items.size(); ++k) {
            const Item& above = bench.items[k];
            // Only what lies higher than this place throws a shadow on it.
            if (above.height_mm <= (top >= 0 ? bench.items[static_cast<std::size_t>(top)].height_mm : 0)) continue;
            lit *= 1 - shadow(above, x, y);
        }
        if (top < 0) return lit * (1 + board_texture(bench, x, y));
        const double film = 0.6 * smooth_noise(bench.seed + 21, x / 0.9, y / 0.9) + 0.6 * smooth_noise(bench.seed + 22, x / 5, y / 7);
        return lit * (1 + bench.items[static_cast<std::size_t>(top)].texture * film);
    };
    for (int py = 0; py < bench.height; ++py) {
        for (int px = 0; px < bench.width; ++px) {
            Eigen::Vector3f sum = Eigen::Vector3f::Zero();
            int last = -2;
            Eigen::Vector3f last_seen = Eigen::Vector3f::Zero();
            for (int sub = 0; sub < kSub * kSub; ++sub) {
                const double sx = px + (sub % kSub + 0.5) / kSub;
                const double sy = py + (sub / kSub + 0.5) / kSub;
                const Eigen::Vector2d mm = (to_bench * Eigen::Vector3d{sx, sy, 1}).hnormalized();
                int top = static_cast<int>(bench.items.size()) - 1;
                while (top >= 0 && distance(bench.items[static_cast<std::size_t>(top)], mm[0], mm[1]) > 0) --top;
                if (top != last) {
                    last = top;
                    last_seen = (top >= 0 ? seen[static_cast<std::size_t>(top)] : board) * static_cast<float>(brightness(top, mm[0], mm[1]));
                }
                sum += last_seen;
            }
            const double u = (px + 0.5) / bench.width - 0.5;
            const double v = (py + 0.5) / bench.height - 0.5;
            const double light = 1 + bench.across * u + bench.down * v - bench.vignette * 2 * (u * u + v * v);
            picture.at(px, py) = sum * static_cast<float>(light / (kSub * kSub));
        }
    }
    return picture;
}

std::array<Eigen::Vector2d, 4> corners(const Bench& bench, const Item& item) {
    const Projection to = of(bench);
    const double angle = item.turn * std::numbers::pi / 180;
    std::array<Eigen::Vector2d, 4> found;
    const std::array<std::array<double, 2>, 4> signs{{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}};
    for (std::size_t k = 0; k < 4; ++k) {
        const double dx = signs[k][0] * item.w / 2;
        const double dy = signs[k][1] * item.h / 2;
        found[k] = to.pixel(item.x + item.w / 2 + std::cos(angle) * dx - std::sin(angle) * dy,
                            item.y + item.h / 2 + std::sin(angle) * dx + std::cos(angle) * dy);
    }
    return found;
}

std::array<int, 4> inner_box(const Bench& bench, const Item& item, double margin) {
    Item smaller = item;
    smaller.x += margin * item.w;
    smaller.y += margin * item.h;
    smaller.w *= 1 - 2 * margin;
    smaller.h *= 1 - 2 * margin;
    const auto c = corners(bench, smaller);
    const int left = static_cast<int>(std::ceil(std::max(c[0][0], c[3][0])));
    const int right = static_cast<int>(std::floor(std::min(c[1][0], c[2][0])));
    const int top = static_cast<int>(std::ceil(std::max(c[0][1], c[1][1])));
    const int bottom = static_cast<int>(std::floor(std::min(c[2][1], c[3][1])));
    return {left, top, right - left, bottom - top};
}

std::vector<Item> chart(double x, double y, double patch_mm, double gap_mm, const std::vector<sw::Reflectance>& patches) {
    const double border = 1.9 * gap_mm;
    const double w = 6 * patch_mm + 5 * gap_mm + 2 * border;
    const double h = 4 * patch_mm + 3 * gap_mm + 2 * border;
    std::vector<Item> items{
        {.role = "chart frame", .x = x, .y = y, .w = w, .h = h, .surface = plain(0.019, 0.001), .height_mm = 2.0, .texture = 0.02, .corner_mm = 2.5}};
    for (int k = 0; k < 24; ++k) {
        items.push_back({.role = "patch " + std::to_string(k + 1),
                         .x = x + border + (k % 6) * (patch_mm + gap_mm),
                         .y = y + border + (k / 6) * (patch_mm + gap_mm),
                         .w = patch_mm,
                         .h = patch_mm,
                         .surface = patches[static_cast<std::size_t>(k)],
                         .height_mm = 0,
                         .texture = 0.004});
    }
    return items;
}

}  // namespace demo
