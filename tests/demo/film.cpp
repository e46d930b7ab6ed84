#include "demo/film.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "color/color.hpp"

namespace demo {
namespace {

constexpr int kFilmSub = 4;

struct Wheel {
    Eigen::Vector2d middle{292, 214};
    double ring = 112, tube = 12.5, hub = 34, spoke = 8.5;
    int spokes = 5;
};

/// Nearest part of the wheel: signed distance (px), and the surface's normal there.
struct Hit {
    double distance = 1e9;
    Eigen::Vector3d normal{0, 0, 1};
};

Hit wheel_at(const Wheel& wheel, Eigen::Vector2d p) {
    const Eigen::Vector2d from = p - wheel.middle;
    const double radius = from.norm();
    const Eigen::Vector2d out = radius > 0 ? Eigen::Vector2d(from / radius) : Eigen::Vector2d{1, 0};
    Hit best;
    // Spokes: round bars from the hub to the ring, which lies nearer to us and covers their ends.
    for (int k = 0; k < wheel.spokes; ++k) {
        const double angle = 2 * std::numbers::pi * (k + 0.22) / wheel.spokes;
        const Eigen::Vector2d along{std::cos(angle), std::sin(angle)};
        const Eigen::Vector2d across{-along[1], along[0]};
        const double far = from.dot(along);
        if (far < 0 || far > wheel.ring) continue;
        const double t = from.dot(across) / (wheel.spoke * (1 + 0.35 * (1 - far / wheel.ring)));
        const double distance = (std::abs(t) - 1) * wheel.spoke;
        if (distance < best.distance) {
            const double c = std::clamp(t, -1.0, 1.0);
            best = {distance, {across[0] * c, across[1] * c, std::sqrt(1 - c * c)}};
        }
    }
    const double ring = std::abs(radius - wheel.ring) - wheel.tube;
    if (ring < 0 || ring < best.distance) {
        const double t = std::clamp((radius - wheel.ring) / wheel.tube, -1.0, 1.0);
        best = {ring, {out[0] * t, out[1] * t, std::sqrt(1 - t * t)}};
    }
    const double hub = radius - wheel.hub;
    if (hub < 0 || hub < best.distance) {
        const double bevel = smooth_step(wheel.hub - 5, wheel.hub, radius);
        best = {hub, Eigen::Vector3d{out[0] * bevel, out[1] * bevel, 1}.normalized()};
    }
    return best;
}

/// The grade: cool shadows, warm lights, less color, more contrast; on encoded values.
Eigen::Vector3d graded(Eigen::Vector3d linear) {
    const double luminance = linear.dot(Eigen::Vector3d{0.2126, 0.7152, 0.0722});
    linear = Eigen::Vector3d::Constant(luminance) + 0.86 * (linear - Eigen::Vector3d::Constant(luminance));
    const Eigen::Vector3d lift{0.012, 0.026, 0.034};
    const Eigen::Vector3d gain{1.05, 0.99, 0.90};
    Eigen::Vector3d out;
    for (Eigen::Index k = 0; k < 3; ++k) {
        const double e = sw::linear_to_srgb(std::clamp(linear[k], 0.0, 1.0));
        const double s = e + 0.22 * 2 * e * (1 - e) * (2 * e - 1);
        out[k] = std::clamp(lift[k] + (gain[k] - lift[k]) * s, 0.0, 1.0);
    }
    return out;
}

}  // namespace

Still still(const Film& film, const std::function<Eigen::Vector3f(const sw::Reflectance&)>& developed) {
    const Wheel wheel;
    const Eigen::Vector3d sun = Eigen::Vector3d{-0.50, -0.62, 0.60}.normalized();
    const auto lit = [&](const Eigen::Vector3d& normal) { return 0.34 + 0.16 * std::max(0.0, -normal[1]) + 0.62 * std::max(0.0, normal.dot(sun)); };
    const Eigen::Vector3d body = developed(film.body).cast<double>();
    const Eigen::Vector3d lining = developed(film.lining).cast<double>();
    const Eigen::Vector3d iron = developed(film.wheel).cast<double>();
    const Eigen::Vector3d platform = developed(film.platform).cast<double>();
    const Eigen::Vector3d foliage = developed(film.foliage).cast<double>();
    const Eigen::Vector3d axle = developed(film.iron).cast<double>();
    const int top = film.bar;
    const int bottom = film.height - film.bar;

    const auto scene = [&](double x, double y) -> Eigen::Vector3d {
        const Eigen::Vector2d p{x, y};
        const Hit hit = wheel_at(wheel, p);
        if (hit.distance <= 0) {
            const double gleam = 0.16 * std::pow(std::max(0.0, (sun + Eigen::Vector3d{0, 0, 1}).normalized().dot(hit.normal)), 60.0);
            Eigen::Vector3d color = lit(hit.normal) * iron + Eigen::Vector3d::Constant(gleam);
            // The nut on the axle
            const double nut = (p - wheel.middle).norm();
            if (nut < 8) color = (0.55 + 0.4 * smooth_step(8, 0, (p - wheel.middle - Eigen::Vector2d{-2, -3}).norm())) * axle;
            return color;
        }
        // Shadow of the wheel on the car, and the dusk it brings close by
        const double cast = wheel_at(wheel, p - Eigen::Vector2d{24, 30}).distance;
        const double dark = 1 - 0.52 * (1 - smooth_step(-5, 6, cast));
        if (x < 96 + 0.02 * y) {  // hillside beside the car, out of focus
            const double leaves = 0.55 + 0.35 * smooth_noise(film.seed + 31, x / 26, y / 20) + 0.16 * smooth_noise(film.seed + 32, x / 9, y / 8);
            const double sky = smooth_step(190, 80, y + 22 * smooth_noise(film.seed + 33, x / 30, 0));
            return std::max(0.12, leaves) * foliage * (1 - sky) + sky * Eigen::Vector3d{0.52, 0.60, 0.68};
        }
        if (y > 352) {  // platform
            const double boards = std::abs(std::fmod((x + 0.9 * (y - 352)) / 58 + 10, 1.0) - 0.5) > 0.485 ? 0.45 : 1.0;
            return (0.62 + 0.1 * smooth_noise(film.seed + 34, x / 20, y / 2)) * boards * dark * platform;
        }
        // Car side: boards with grooves, a lining stripe, a little rounder toward the roof
        const double groove = std::abs(std::fmod(y / 37 + 10, 1.0) - 0.5);
        const Eigen::Vector3d normal = Eigen::Vector3d{0, (y - 230) / 420, 1}.normalized();
        const double edge = 1 - 0.45 * smooth_step(0.468, 0.492, groove);
        const bool stripe = (y > 118 && y < 128) || (x > 640 && x < 650 && y > 118);
        const double foot = 1 - 0.35 * smooth_step(330, 352, y);
        return lit(normal) * edge * dark * foot * (stripe ? lining : body);
    };

    Picture picture(film.width, film.height);
    for (int py = top; py < bottom; ++py) {
        for (int px = 0; px < film.width; ++px) {
            Eigen::Vector3d sum = Eigen::Vector3d::Zero();
            for (int sub = 0; sub < kFilmSub * kFilmSub; ++sub)
                sum += scene(px + (sub % kFilmSub + 0.5) / kFilmSub, py + (sub / kFilmSub + 0.5) / kFilmSub);
            const double u = (px + 0.5) / film.width - 0.5;
            const double v = (py + 0.5) / film.height - 0.5;
            picture.at(px, py) = (sum * (1 - 0.5 * (u * u + v * v)) / (kFilmSub * kFilmSub)).cast<float>();
        }
    }
    blur(picture, 0.9);

    // Grain: mostly in lightness, some in color, coarser than a pixel.
    Picture grain(film.width, film.height);
    for (std::size_t i = 0; i < grain.pixels.size(); ++i) {
        for (int k = 0; k < 3; ++k) {
            grain.pixels[i][k] =
                static_cast<float>(0.9 * normal(film.seed, 4 * i) + 0.45 * normal(film.seed, 4 * i + 1 + static_cast<std::size_t>(k)));
        }
    }
    blur(grain, 0.75);
    constexpr double kAfterBlur = 2.6;  // brings the blurred grain back to one standard deviation

    Still made;
    made.hub = {static_cast<int>(wheel.middle[0]) - 15, static_cast<int>(wheel.middle[1]) + 10, 30, 14};
    made.hub_linear = Eigen::Vector3d::Zero();
    for (int py = 0; py < film.height; ++py) {
        for (int px = 0; px < film.width; ++px) {
            if (py < top || py >= bottom) {
                made.rgb.insert(made.rgb.end(), {0, 0, 0});
                continue;
            }
            const Eigen::Vector3d clean = graded(picture.at(px, py).cast<double>());
            const double strength = film.grain * (0.35 + 2.6 * clean.mean() * (1 - clean.mean()));
            for (Eigen::Index k = 0; k < 3; ++k) {
                const double value = clean[k] + kAfterBlur * strength * static_cast<double>(grain.at(px, py)[k]);
                made.rgb.push_back(static_cast<std::uint8_t>(std::lround(255 * std::clamp(value, 0.0, 1.0))));
            }
            if (px >= made.hub[0] && px < made.hub[0] + made.hub[2] && py >= made.hub[1] && py < made.hub[1] + made.hub[3]) {
                for (Eigen::Index k = 0; k < 3; ++k) made.hub_linear[k] += sw::srgb_to_linear(clean[k]) / (made.hub[2] * made.hub[3]);
            }
        }
    }
    return made;
}

}  // namespace demo
