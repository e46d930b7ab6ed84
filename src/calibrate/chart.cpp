#include "calibrate/chart.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <opencv2/mcc.hpp>

#include "color/light.hpp"
#include "photo/statistics.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr double kGap = 0.15;
constexpr double kWidth = 6 - kGap, kHeight = 4 - kGap;  // outer patch edge to outer patch edge, in pitches

cv::Mat_<double> from_chart(const ChartCorners& c) {
    constexpr auto w = static_cast<float>(kWidth), h = static_cast<float>(kHeight);
    const std::array<cv::Point2f, 4> chart{cv::Point2f(0, 0), cv::Point2f(w, 0), cv::Point2f(w, h), cv::Point2f(0, h)};
    std::array<cv::Point2f, 4> picture;
    for (std::size_t i = 0; i < 4; ++i) picture[i] = cv::Point2f(static_cast<float>(c[i].x), static_cast<float>(c[i].y));
    return cv::getPerspectiveTransform(chart.data(), picture.data());
}

Point map(const cv::Mat_<double>& h, double x, double y) {
    const double w = h(2, 0) * x + h(2, 1) * y + h(2, 2);
    return {(h(0, 0) * x + h(0, 1) * y + h(0, 2)) / w, (h(1, 0) * x + h(1, 1) * y + h(1, 2)) / w};
}

/// Means of the patches, or nothing where one lies outside the picture.
bool read_patches(const Photo& photo, const ChartCorners& corners, Eigen::Matrix<double, 3, 24>& rgb) {
    const std::array<Region, 24> regions = patch_regions(corners);
    for (int i = 0; i < 24; ++i) {
        Eigen::Vector3d sum = Eigen::Vector3d::Zero();
        int count = 0;
        const Box box = bounds(regions[static_cast<std::size_t>(i)]);
        if (!(box.x >= 0 && box.y >= 0 && box.x + box.w <= photo.width && box.y + box.h <= photo.height)) return false;
        for_each_run(regions[static_cast<std::size_t>(i)], photo.width, photo.height, [&](int y, int x0, int x1) {
            for (int x = x0; x < x1; ++x) {
                const float* p = photo.pixel(x, y);
                sum += Eigen::Vector3d(p[0], p[1], p[2]);
            }
            count += x1 - x0;
        });
        if (count < 4) return false;
        rgb.col(i) = sum / count;
    }
    return true;
}

ChartCorners laid(const ChartCorners& c, int way) {
    ChartCorners out;
    for (std::size_t i = 0; i < 4; ++i) {
        const std::size_t k = way < 4 ? i : (5 - i) % 4;  // mirrored: 1, 0, 3, 2
        out[i] = c[(k + static_cast<std::size_t>(way)) % 4];
    }
    return out;
}

/// The finder's box runs outside the patches by a margin of its own, measured on photos with known corners (tests/calibrate/chart_test.cpp).
ChartCorners without_margin(const ChartCorners& box) {
    constexpr double margin = 0.13;  // of a pitch
    const cv::Mat_<double> h = from_chart(box);
    const double x = margin * kWidth / (kWidth + 2 * margin), y = margin * kHeight / (kHeight + 2 * margin);
    return {map(h, x, y), map(h, kWidth - x, y), map(h, kWidth - x, kHeight - y), map(h, x, kHeight - y)};
}

struct BestWay {
    int way = 0;
    double misfit = 1e9;
    ChartCorners corners{};
};

BestWay best_way(const Photo& photo, const ChartCorners& corners) {
    BestWay best;
    for (int way = 0; way < 8; ++way) {
        const ChartCorners candidate = laid(corners, way);
        Eigen::Matrix<double, 3, 24> rgb;
        if (!read_patches(photo, candidate, rgb)) continue;
        const double misfit = chart_misfit(rgb);
        if (misfit < best.misfit) best = {way, misfit, candidate};
    }
    return best;
}

/// How uneven the patches are when nearly all of each is looked at: relative spread over 12 x 12 points, summed. Grows as soon as a gap comes in.
double unevenness(const Photo& photo, const ChartCorners& corners) {
    const cv::Mat_<double> h = from_chart(corners);
    double sum = 0;
    for (int patch = 0; patch < 24; ++patch) {
        double first = 0, second = 0;
        constexpr int points = 12;
        for (int k = 0; k < points * points; ++k) {
            const double u = 0.04 + 0.92 * (k % points) / (points - 1),
                         v = 0.04 + 0.92 * (k / points) / (points - 1);                      // NOLINT(bugprone-integer-division)
            const Point p = map(h, patch % 6 + u * (1 - kGap), patch / 6 + v * (1 - kGap));  // NOLINT(bugprone-integer-division)
            if (!(p.x >= 0 && p.y >= 0 && p.x < photo.width && p.y < photo.height)) return 1e9;
            const float* c = photo.pixel(static_cast<int>(p.x), static_cast<int>(p.y));
            const double level = static_cast<double>(c[0] + c[1] + c[2]);
            first += level;
            second += level * level;
        }
        const double mean = first / (points * points), variance = std::max(0.0, second / (points * points) - mean * mean);
        sum += std::sqrt(variance) / (mean + 0.05);
    }
    return sum;
}

/// Moves the corners, one coordinate at a time, to where the patches are most even.
ChartCorners fitted(const Photo& photo, ChartCorners corners) {
    const double pitch = std::hypot(corners[1].x - corners[0].x, corners[1].y - corners[0].y) / kWidth;
    double best = unevenness(photo, corners);
    for (const double step : {0.08, 0.04, 0.02, 0.01}) {
        bool moved = true;
        for (int round = 0; round < 8 && moved; ++round) {
            moved = false;
            for (std::size_t i = 0; i < 8; ++i) {
                for (const double way : {-1.0, 1.0}) {
                    ChartCorners trial = corners;
                    double& coordinate = i % 2 == 0 ? trial[i / 2].x : trial[i / 2].y;
                    coordinate += way * step * pitch;
                    const double value = unevenness(photo, trial);
                    if (value < best) {
                        best = value;
                        corners = trial;
                        moved = true;
                    }
                }
            }
        }
    }
    return corners;
}

Error not_found(const Photo& photo, std::string cause, std::string remedy) {
    return Error{.fault = Fault::chart_not_found, .file = photo.path, .place = "chart", .cause = std::move(cause), .remedy = std::move(remedy)};
}

constexpr double kFits = 0.25;

}  // namespace

std::array<Region, 24> patch_regions(const ChartCorners& corners) {
    const cv::Mat_<double> h = from_chart(corners);
    std::array<Region, 24> regions;
    constexpr double side = 1 - kGap, low = side / 4, high = 3 * side / 4;
    for (int i = 0; i < 24; ++i) {
        const double x = i % 6, y = i / 6;  // NOLINT(bugprone-integer-division): rows of six
        regions[static_cast<std::size_t>(i)] =
            Polygon{{map(h, x + low, y + low), map(h, x + high, y + low), map(h, x + high, y + high), map(h, x + low, y + high)}};
    }
    return regions;
}

double chart_misfit(const Eigen::Matrix<double, 3, 24>& rgb) {
    static const Eigen::Matrix<double, 3, 24> published = observer_matrix(*light("D50"), Observer::degree2) * chart_reflectances();
    // Relative errors: each patch scaled by its own lightness, so that dark patches count.
    Eigen::Matrix<double, 3, 24> x = rgb, y = published;
    for (int i = 0; i < 24; ++i) {
        const double w = 1 / (published(1, i) + 0.03);
        x.col(i) *= w;
        y.col(i) *= w;
    }
    Eigen::Matrix3d normal = x * x.transpose();
    normal.diagonal().array() += 1e-9;
    const Eigen::Matrix3d m = normal.ldlt().solve(x * y.transpose()).transpose();
    return std::sqrt((m * x - y).squaredNorm() / y.squaredNorm());
}

Result<ChartCorners> find_chart(const Photo& photo) {
    // The finder wants 8-bit BGR; neutral enough matters little to it. Large pictures are halved until below 1600 pixels: it is quicker and no worse.
    int shrink = 1;
    while (std::max(photo.width, photo.height) / shrink > 1600) ++shrink;
    const int width = photo.width / shrink, height = photo.height / shrink;
    if (width < 60 || height < 40) return not_found(photo, "the picture is too small to look for a chart", "give the corners with --chart x1,y1,...");
    cv::Mat3b picture(height, width);
    for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
            for (int c = 0; c < 3; ++c) {
                double sum = 0;
                for (int dy = 0; dy < shrink; ++dy) {
                    for (int dx = 0; dx < shrink; ++dx) sum += photo.pixel(x * shrink + dx, y * shrink + dy)[c];
                }
                picture(y, x)[2 - c] = static_cast<unsigned char>(std::lround(255 * std::clamp(linear_to_srgb(sum / (shrink * shrink)), 0.0, 1.0)));
            }
        }
    }
    BestWay best;
    try {
        const cv::Ptr<cv::mcc::CCheckerDetector> detector = cv::mcc::CCheckerDetector::create();
        if (detector->process(picture, cv::mcc::MCC24, 3, false)) {
            for (const cv::Ptr<cv::mcc::CChecker>& found : detector->getListColorChecker()) {
                // The finder's box runs around the patches with a margin of its own; what we want are the patches' outer corners.
                const std::vector<cv::Point2f> box = found->getBox();
                if (box.size() != 4) continue;
                ChartCorners corners;
                for (std::size_t i = 0; i < 4; ++i) corners[i] = {box[i].x * static_cast<double>(shrink), box[i].y * static_cast<double>(shrink)};
                corners = without_margin(corners);
                const BestWay way = best_way(photo, corners);
                if (way.misfit < best.misfit) best = way;
            }
        }
    } catch (const cv::Exception&) {
        best = {};
    }
    if (best.misfit > kFits) {
        return not_found(photo, "no 24-patch chart found in the picture",
                         "photograph it larger and flatter, or give its corners (outer corners of dark skin, bluish green, black, white)");
    }
    return fitted(photo, best.corners);
}

Result<ChartCorners> check_corners(const Photo& photo, const ChartCorners& corners) {
    double area = 0;
    bool turns_left = false, turns_right = false;
    for (std::size_t i = 0; i < 4; ++i) {
        const Point a = corners[i], b = corners[(i + 1) % 4], c = corners[(i + 2) % 4];
        if (!std::isfinite(a.x) || !std::isfinite(a.y)) return not_found(photo, "a corner is not a number", "give eight figures");
        if (a.x < 0 || a.y < 0 || a.x > photo.width || a.y > photo.height) {
            return not_found(photo, "a corner lies outside the picture (" + std::to_string(photo.width) + " x " + std::to_string(photo.height) + ")",
                             "give corners inside; a chart that is cut off cannot be used");
        }
        area += (a.x * b.y - b.x * a.y) / 2;
        const double turn = (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
        (turn > 0 ? turns_right : turns_left) = true;
    }
    if (turns_left == turns_right) return not_found(photo, "the corners cross over", "give them going round: dark skin, bluish green, black, white");
    if (std::abs(area) < 24 * 25) return not_found(photo, "the chart is too small to measure", "photograph it larger");
    const BestWay best = best_way(photo, corners);
    if (best.misfit > kFits) {
        return not_found(photo, "the colors between these corners do not fit the 24-patch chart",
                         "check the corners (outer corners of dark skin, bluish green, black, white), and that nothing covers the chart");
    }
    if (best.way != 0) {
        return not_found(photo,
                         best.way < 4 ? "the chart lies turned: the corners are given in another order" : "the corners are given in mirrored order",
                         "begin at dark skin, then bluish green, black, white; or let the chart be found");
    }
    return corners;
}

}  // namespace sw
