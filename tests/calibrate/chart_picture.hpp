// Made-up pictures of a bench with a 24-patch chart: cardboard, colored boxes and a fan deck around it, seen in perspective through a camera.
#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/chart.hpp"
#include "color/light.hpp"
#include "photo/photo.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"

namespace sw::test {

struct ChartShot {
    int width = 1200, height = 800;
    double share = 0.4;         // width of the chart, of the picture's
    double turn = 0, tilt = 0;  // degrees; tilted about a random axis in its plane
    bool mirrored = false;
    double gap = 0.15;       // of a pitch
    double shadow = 1;       // light left behind the edge of a shadow that crosses the chart
    double penumbra = 0.01;  // its width, of the picture's
    double slope = 0;        // of the logarithm of the light over the picture's width
    double veil = 0.003;     // flare, of the diffuser
    double exposure = 0.8, noise = 0.004;
    Eigen::Vector3d cast{1, 1, 1};  // color of the light as the camera failed to balance it
    bool linear = false;            // the sensor's own values, stored linear
    int quality = 92;               // of JPEG; 0: not compressed
    int boxes = 40;                 // colored boxes about it
    bool fan_deck = true;           // a grid of colors that is not the chart
    bool chart = true, second = false;
    int covered = 0;             // columns of patches behind something, from the left
    double off_x = 0;            // of the picture's width: to let it be cut off
    double glare = 0, dust = 0;  // radius of a spot in each third patch, of a pitch; chance of a speck for each 100 pixels
    std::string light = "D50";
};

struct ChartPicture {
    Photo photo;
    ChartCorners corners{};
    double pitch = 0;                             // pixels
    std::array<Eigen::Vector3d, 24> patch_rgb{};  // what its plain middle reads, without noise, shadow, slope
};

class ChartPainter {
public:
    ChartPainter(const ChartShot& shot, std::uint64_t seed) : s_(shot), random_(seed), picture_(shot.height, shot.width) {
        const auto rendering = shot.linear ? Rendering::raw : Rendering::rendered;
        rows_ = sensitivity_prior(*light(shot.light), rendering).mean;
    }

    ChartPicture paint() {
        clutter();
        ChartPicture result;
        if (s_.chart) {
            place(s_.share, s_.turn, s_.tilt, s_.mirrored, Eigen::Vector2d(s_.off_x, 0));
            result.corners = corners_;
            result.pitch = std::hypot(corners_[1].x - corners_[0].x, corners_[1].y - corners_[0].y) / (6 - s_.gap);
            lay_chart();
        }
        if (s_.second) {
            place(0.6 * s_.share, 90, 0, false, Eigen::Vector2d(0.33, 0));
            lay_chart();
        }
        light_it();
        for (int i = 0; i < 24; ++i) result.patch_rgb[static_cast<std::size_t>(i)] = shown(seen(chart_reflectances().col(i)));
        result.photo = stored();
        return result;
    }

private:
    Eigen::Vector3d seen(const ModelSpectrum& r) const { return rows_ * r; }
    Eigen::Vector3d shown(const Eigen::Vector3d& scene) const {
        Eigen::Vector3d v = s_.exposure * s_.cast.cwiseProduct((scene.array() + s_.veil).matrix());
        if (s_.linear) v = v.cwiseProduct(Eigen::Vector3d(0.45, 1, 0.6));  // no white balance
        return v;
    }
    static cv::Vec3f pixel(const Eigen::Vector3d& v) { return {static_cast<float>(v[0]), static_cast<float>(v[1]), static_cast<float>(v[2])}; }
    /// Standard normal, from a table: millions are wanted.
    double grain() {
        static const std::vector<double> table = [] {
            Random r(3);
            std::vector<double> t(1 << 16);
            for (double& v : t) v = r.normal();
            return t;
        }();
        state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
        return table[state_ >> 48U];
    }
    Eigen::Vector3d some_paint() { return seen(surface_library().col(random_.below(kSurfaces)).cast<double>()); }

    void box(Eigen::Vector2d at, double w, double h, double turn, const Eigen::Vector3d& color) {
        const cv::RotatedRect r(cv::Point2f(static_cast<float>(at[0]), static_cast<float>(at[1])),
                                cv::Size2f(static_cast<float>(w), static_cast<float>(h)), static_cast<float>(turn));
        std::array<cv::Point2f, 4> f;
        r.points(f.data());
        std::vector<cv::Point> p;
        for (const cv::Point2f& q : f) p.emplace_back(static_cast<int>(q.x), static_cast<int>(q.y));
        const cv::Vec3f c = pixel(color);
        cv::fillConvexPoly(picture_, p, cv::Scalar(c[0], c[1], c[2]));
    }
    void clutter() {
        const Eigen::Vector3d board = Eigen::Vector3d(0.46, 0.35, 0.22);
        cv::Mat1f grain(s_.height / 8 + 1, s_.width / 8 + 1), large;
        for (float& g : grain) g = static_cast<float>(1 + 0.06 * random_.normal());
        cv::resize(grain, large, picture_.size(), 0, 0, cv::INTER_CUBIC);
        for (int y = 0; y < s_.height; ++y) {
            for (int x = 0; x < s_.width; ++x) picture_(y, x) = large(y, x) * pixel(board);
        }
        const double w = s_.width, h = s_.height;
        for (int i = 0; i < s_.boxes; ++i) {
            box({random_.uniform(0, w), random_.uniform(0, h)}, random_.uniform(0.02, 0.2) * w, random_.uniform(0.02, 0.15) * w,
                random_.uniform(0, 90), some_paint());
        }
        if (s_.fan_deck) {
            const double side = random_.uniform(0.02, 0.05) * w, x0 = random_.uniform(0, 0.6) * w, y0 = random_.uniform(0, 0.6) * h,
                         turn = random_.uniform(-20, 20);
            const Eigen::Rotation2Dd r(turn * std::numbers::pi / 180);
            box(Eigen::Vector2d(x0, y0) + r * Eigen::Vector2d(4 * side, 2.5 * side), 8.6 * side, 5.6 * side, turn, Eigen::Vector3d(0.8, 0.8, 0.78));
            for (int i = 0; i < 40; ++i)
                box(Eigen::Vector2d(x0, y0) + r * (side * Eigen::Vector2d(i % 8 + 0.5, i / 8 + 0.5)), 0.85 * side, 0.85 * side, turn,  // NOLINT
                    some_paint());
        }
        cv::GaussianBlur(picture_, picture_, cv::Size(), 0.6);
    }

    /// Chart coordinates (pitches from the middle, x to the right, y down) to the picture, through a pinhole.
    void place(double share, double turn, double tilt, bool mirrored, const Eigen::Vector2d& off) {
        const double pi = std::numbers::pi, focal = 1.2 * s_.width, distance = focal * (6 - s_.gap) / (share * s_.width);
        const double axis = random_.uniform(0, 2 * pi);
        const Eigen::Matrix3d r = Eigen::AngleAxisd(tilt * pi / 180, Eigen::Vector3d(std::cos(axis), std::sin(axis), 0)).toRotationMatrix() *
                                  Eigen::AngleAxisd(turn * pi / 180, Eigen::Vector3d::UnitZ()).toRotationMatrix() *
                                  Eigen::Vector3d(mirrored ? -1 : 1, 1, 1).asDiagonal();
        const double sway = share > 0.5 ? 0 : 0.08;
        const double cx = (0.5 + off[0] + random_.uniform(-sway, sway)) * s_.width, cy = (0.5 + off[1] + random_.uniform(-sway, sway)) * s_.height;
        Eigen::Matrix3d camera;
        camera << focal, 0, cx, 0, focal, cy, 0, 0, 1;
        Eigen::Matrix3d plane;
        plane << r.col(0), r.col(1), Eigen::Vector3d(0, 0, distance);
        to_picture_ = camera * plane;
        const double x = (6 - s_.gap) / 2, y = (4 - s_.gap) / 2;
        const std::array<Eigen::Vector3d, 4> c{Eigen::Vector3d(-x, -y, 1), {x, -y, 1}, {x, y, 1}, {-x, y, 1}};
        for (std::size_t i = 0; i < 4; ++i) {
            const Eigen::Vector3d p = to_picture_ * c[i];
            corners_[i] = {p[0] / p[2], p[1] / p[2]};
        }
    }
    void lay_chart() {
        const Eigen::Matrix3d back = to_picture_.inverse();
        std::array<Eigen::Vector3d, 24> color;
        for (int i = 0; i < 24; ++i) color[static_cast<std::size_t>(i)] = seen(chart_reflectances().col(i));
        const Eigen::Vector3d frame = seen(ModelSpectrum::Constant(0.035)), hand(0.35, 0.24, 0.18);
        double reach = 0;
        for (const Point& p : corners_) reach = std::max(reach, std::hypot(p.x - corners_[0].x, p.y - corners_[0].y));
        const auto [x0, x1] = std::minmax_element(corners_.begin(), corners_.end(), [](auto& a, auto& b) { return a.x < b.x; });
        const auto [y0, y1] = std::minmax_element(corners_.begin(), corners_.end(), [](auto& a, auto& b) { return a.y < b.y; });
        const double more = reach / 5;
        constexpr int sub = 3;
        for (int y = std::max(0, static_cast<int>(y0->y - more)); y < std::min<double>(s_.height, y1->y + more); ++y) {
            for (int x = std::max(0, static_cast<int>(x0->x - more)); x < std::min<double>(s_.width, x1->x + more); ++x) {
                Eigen::Vector3d sum = Eigen::Vector3d::Zero();
                int inside = 0;
                for (int k = 0; k < sub * sub; ++k) {
                    const Eigen::Vector3d p = back * Eigen::Vector3d(x + (k % sub + 0.5) / sub, y + (k / sub + 0.5) / sub, 1);  // NOLINT
                    const double u = p[0] / p[2] + (6 - s_.gap) / 2, v = p[1] / p[2] + (4 - s_.gap) / 2;
                    if (u < -0.35 || v < -0.35 || u > 6.35 - s_.gap || v > 4.35 - s_.gap) continue;
                    ++inside;
                    const double fu = u - std::floor(u), fv = v - std::floor(v);
                    const bool patch = u >= 0 && v >= 0 && u < 6 && v < 4 && fu < 1 - s_.gap && fv < 1 - s_.gap;
                    if (s_.covered > 0 && u < s_.covered - 0.07) {
                        sum += hand;
                        continue;
                    }
                    if (!patch) {
                        sum += frame;
                        continue;
                    }
                    const int i = static_cast<int>(v) * 6 + static_cast<int>(u);
                    sum += color[static_cast<std::size_t>(i)];
                    // a third of the patch's middle, growing toward its corner
                    if (s_.glare > 0 && i % 3 == 0 && std::hypot(fu - 0.28, fv - 0.28) < s_.glare) sum += Eigen::Vector3d::Constant(0.5);
                }
                if (inside == 0) continue;
                const Eigen::Vector3d v = sum / inside;
                const auto share = static_cast<float>(inside) / (sub * sub);
                picture_(y, x) = share * pixel(v) + (1 - share) * picture_(y, x);
            }
        }
        if (s_.dust > 0) {
            const auto specks = static_cast<int>(s_.dust * reach * reach / 2 / 100);
            for (int i = 0; i < specks; ++i) {
                const double px = random_.uniform(x0->x, x1->x), py = random_.uniform(y0->y, y1->y);
                cv::circle(picture_, cv::Point(static_cast<int>(px), static_cast<int>(py)), 1, cv::Scalar(0.7, 0.7, 0.7), cv::FILLED);
            }
        }
    }
    void light_it() {
        // an edge of shadow through the middle of the chart, at a random angle
        const double angle = random_.uniform(0, 2 * std::numbers::pi);
        const Eigen::Vector2d way(std::cos(angle), std::sin(angle));
        Eigen::Vector2d middle(s_.width / 2.0, s_.height / 2.0);
        if (s_.chart) middle = {(corners_[0].x + corners_[2].x) / 2, (corners_[0].y + corners_[2].y) / 2};
        middle += way * random_.uniform(-0.1, 0.2) * s_.share * s_.width;
        for (int y = 0; y < s_.height; ++y) {
            for (int x = 0; x < s_.width; ++x) {
                const double depth = (way.dot(Eigen::Vector2d(x, y) - middle)) / (s_.penumbra * s_.width);
                const double shade = s_.shadow + (1 - s_.shadow) * std::clamp(0.5 - depth, 0.0, 1.0);
                const double light_here = shade * std::exp(s_.slope * (static_cast<double>(x) / s_.width - 0.5));
                const cv::Vec3f c = picture_(y, x) * static_cast<float>(light_here);
                Eigen::Vector3d v = shown({c[0], c[1], c[2]});
                for (double& f : v) f += s_.noise * std::sqrt(std::max(f, 0.0) + 0.01) * grain();
                picture_(y, x) = pixel(v);
            }
        }
    }
    Photo stored() const {
        Photo photo;
        photo.path = "made-up.jpg";
        photo.width = s_.width;
        photo.height = s_.height;
        photo.linear = s_.linear;
        photo.bits = s_.linear ? 16 : 8;
        const std::size_t pixels = picture_.total();
        photo.rgb.resize(3 * pixels);
        photo.clipped.assign(pixels, 0);
        if (s_.linear) {
            for (std::size_t i = 0; i < pixels; ++i) {
                for (int c = 0; c < 3; ++c) photo.rgb[3 * i + static_cast<std::size_t>(c)] = std::clamp(picture_(static_cast<int>(i))[c], 0.F, 1.F);
            }
            return photo;
        }
        cv::Mat3b coded(picture_.size());
        std::array<unsigned char, 4096> encode;  // by the square root
        for (std::size_t k = 0; k < 4096; ++k)
            encode[k] = cv::saturate_cast<unsigned char>(255 * linear_to_srgb(std::pow((static_cast<double>(k) + 0.5) / 4096, 2)));
        for (int y = 0; y < s_.height; ++y) {
            for (int x = 0; x < s_.width; ++x) {
                for (int c = 0; c < 3; ++c)
                    coded(y, x)[2 - c] =
                        cv::saturate_cast<unsigned char>(255 * linear_to_srgb(std::clamp(static_cast<double>(picture_(y, x)[c]), 0.0, 1.0)));
            }
        }
        if (s_.quality > 0) {
            std::vector<unsigned char> bytes;
            cv::imencode(".jpg", coded, bytes, {cv::IMWRITE_JPEG_QUALITY, s_.quality});
            coded = cv::imdecode(bytes, cv::IMREAD_COLOR);
        }
        std::array<float, 256> decoded;
        for (std::size_t k = 0; k < 256; ++k) decoded[k] = static_cast<float>(srgb_to_linear(static_cast<double>(k) / 255));
        for (std::size_t i = 0; i < pixels; ++i) {
            for (std::size_t c = 0; c < 3; ++c) {
                photo.rgb[3 * i + c] = decoded[coded.data[3 * i + 2 - c]];
                if (coded.data[3 * i + c] == 255) photo.clipped[i] = 1;
            }
        }
        return photo;
    }

    ChartShot s_;
    Random random_;
    std::uint64_t state_ = 1;
    cv::Mat3f picture_;
    SensitivityRows rows_;
    Eigen::Matrix3d to_picture_;
    ChartCorners corners_{};
};

inline ChartPicture chart_picture(const ChartShot& shot, std::uint64_t seed) { return ChartPainter(shot, seed).paint(); }

}  // namespace sw::test
