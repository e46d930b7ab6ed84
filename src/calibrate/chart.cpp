#include "calibrate/chart.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>

#include "calibrate/chart_grid.hpp"
#include "color/light.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

constexpr double kGap = 0.15;
constexpr double kSmallestPitch = 8;                     // pixels: the middle half of a patch must hold 16
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

using Patches = Eigen::Matrix<double, 3, 24>;
using Mask = std::array<bool, 24>;

int count_of(const Mask& mask) { return static_cast<int>(std::count(mask.begin(), mask.end(), true)); }

/// XYZ of the patches under D50, each divided by its own lightness, so that dark patches count; and that divisor.
struct Published {
    Patches value;
    Eigen::Matrix<double, 24, 1> weight;
};
const Published& published() {
    static const Published p = [] {
        Published made{observer_matrix(*light("D50"), Observer::degree2) * chart_reflectances(), {}};
        for (int i = 0; i < 24; ++i) {
            made.weight[i] = 1 / (made.value(1, i) + 0.03);
            made.value.col(i) *= made.weight[i];
        }
        return made;
    }();
    return p;
}

/// 3x3 from weighted readings to the published values, patches weighted, and how far each comes out of its own.
struct MatrixFit {
    Eigen::Matrix3d matrix;
    Eigen::Matrix<double, 24, 1> off;  // relative to the usual length of a value
};
MatrixFit fit_matrix(const Patches& x, const Eigen::Matrix<double, 24, 1>& weight) {
    const Patches& y = published().value;
    static const double usual = std::sqrt(y.squaredNorm() / 24);
    Eigen::Matrix3d normal = x * weight.asDiagonal() * x.transpose();
    normal.diagonal().array() += 1e-9;
    MatrixFit fit;
    fit.matrix = normal.ldlt().solve(x * weight.asDiagonal() * y.transpose()).transpose();
    fit.off = (fit.matrix * x - y).colwise().norm().transpose() / usual;
    return fit;
}

constexpr double kFits = 0.25;      // of chart_misfit
constexpr double kPatchFits = 0.4;  // of one patch
constexpr int kFewestPatches = 12;

struct ColorFit {
    double misfit = 1e9;  // over the patches that fit, raised where few do
    Mask fits{};          // of those asked about
};

/// Robust: patches that are covered, in glare or in shadow are found and do not count.
ColorFit fit_colors(const Patches& x, const Mask& present) {
    Eigen::Matrix<double, 24, 1> weight;
    for (int i = 0; i < 24; ++i) weight[i] = present[static_cast<std::size_t>(i)] ? 1 : 0;
    const Eigen::Matrix<double, 24, 1> all = weight;
    MatrixFit fit;
    for (int round = 0; round < 6; ++round) {
        fit = fit_matrix(x, weight);
        for (int i = 0; i < 24; ++i) weight[i] = all[i] / (1 + std::pow(fit.off[i] / 0.15, 2));
    }
    ColorFit result;
    double sum = 0;
    int count = 0, neutrals = 0;
    for (int i = 0; i < 24; ++i) {
        if (all[i] == 0 || fit.off[i] > kPatchFits) continue;
        result.fits[static_cast<std::size_t>(i)] = true;
        sum += fit.off[i] * fit.off[i];
        ++count;
        neutrals += i >= 18 ? 1 : 0;
    }
    if (count >= 8 && neutrals >= 2) result.misfit = std::sqrt(sum / count * 24 / count);
    return result;
}

/// Light that falls unevenly on the chart: a slope, or the edge of a shadow.
struct Lit {
    ColorFit colors;
    Mask shaded{};  // on the darker side of an edge
};

/// Logarithm of each patch's own light, as far as its color tells: the matrix that turns readings to the published directions whatever their lengths,
/// a homography (Hartley & Zisserman 2004, algorithm 4.1; for colors Finlayson, Gong & Fisher 2019), in rounds of reweighting; then the lengths.
Eigen::Matrix<double, 24, 1> lights_of(const Patches& x, const Eigen::Matrix<double, 24, 1>& counts) {
    const Patches& y = published().value;
    const auto square_root = [&](const Patches& p) {  // of the mean square of its directions
        Eigen::Matrix3d sum = 1e-6 * Eigen::Matrix3d::Identity();
        for (int i = 0; i < 24; ++i) {
            if (counts[i] > 0 && p.col(i).norm() > 1e-9) sum += p.col(i).normalized() * p.col(i).normalized().transpose() / counts.sum();
        }
        return Eigen::Matrix3d(sum.llt().matrixL());
    };
    const Eigen::Matrix3d a = square_root(x), b = square_root(y), a_inverse = a.inverse(), b_inverse = b.inverse();
    Patches u = a_inverse * x, v = b_inverse * y;
    u.colwise().normalize();
    v.colwise().normalize();
    Eigen::Matrix<double, 24, 1> weight = counts;
    Eigen::Matrix3d h = Eigen::Matrix3d::Identity();
    for (int round = 0; round < 5; ++round) {
        Eigen::Matrix<double, 9, 9> sum = Eigen::Matrix<double, 9, 9>::Zero();
        for (int i = 0; i < 24; ++i) {  // v x (h u) = 0, h row by row
            if (!(weight[i] > 0)) continue;
            Eigen::Matrix<double, 3, 9> rows;
            const Eigen::RowVector3d t = u.col(i).transpose(), none = Eigen::RowVector3d::Zero();
            rows << none, -v(2, i) * t, v(1, i) * t, v(2, i) * t, none, -v(0, i) * t, -v(1, i) * t, v(0, i) * t, none;
            sum += weight[i] * rows.transpose() * rows;
        }
        const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 9, 9>> solver(sum);
        const Eigen::Matrix<double, 9, 1> n = solver.eigenvectors().col(0);
        h << n.segment<3>(0).transpose(), n.segment<3>(3).transpose(), n.segment<3>(6).transpose();
        double side = 0;
        for (int i = 0; i < 24; ++i) side += weight[i] * v.col(i).dot(h * u.col(i));
        if (side < 0) h = -h;
        for (int i = 0; i < 24; ++i) {
            const Eigen::Vector3d out = h * u.col(i);
            const double off = v.col(i).cross(out).norm() / std::max(out.norm(), 1e-12);  // sine of the angle
            weight[i] = counts[i] / (1 + std::pow(off / 0.1, 2));
        }
    }
    const Eigen::Matrix3d matrix = b * h * a_inverse;
    Eigen::Matrix<double, 24, 1> light = Eigen::Matrix<double, 24, 1>::Zero();
    for (int i = 0; i < 24; ++i) {
        const Eigen::Vector3d seen = matrix * x.col(i);
        light[i] = std::log(std::clamp(seen.dot(y.col(i)) / y.col(i).squaredNorm(), 1e-4, 1e4));
    }
    return (light.array() - light.dot(weight) / std::max(weight.sum(), 1e-9)).matrix();
}

/// What of the patches' own light is a slope or an edge.
Lit fit_light_and_colors(const Patches& x, const Mask& present) {
    Lit best{fit_colors(x, present), {}};
    if (best.colors.misfit < 0.12 && count_of(best.colors.fits) == count_of(present)) return best;
    Eigen::Matrix<double, 24, 1> weight;
    for (int i = 0; i < 24; ++i) weight[i] = present[static_cast<std::size_t>(i)] ? 1 : 0;
    const Eigen::Matrix<double, 24, 1> light = lights_of(x, weight);
    const auto place = [](int i) { return Eigen::Vector2d(i % 6 - 2.5, i / 6 - 1.5); };  // NOLINT(bugprone-integer-division)
    const auto consider = [&](const Eigen::Matrix<double, 24, 1>& light_there, const Mask& shaded, double price) {
        Patches evened = x;
        for (int i = 0; i < 24; ++i) evened.col(i) *= std::exp(-light_there[i]);
        const ColorFit colors = fit_colors(evened, present);
        if (colors.misfit < price * best.colors.misfit) best = {colors, shaded};
    };
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (int i = 0; i < 24; ++i) {
        const Eigen::Vector3d p = place(i).homogeneous();
        normal += weight[i] * p * p.transpose();
        right += weight[i] * light[i] * p;
    }
    normal.diagonal().array() += 1e-6;
    const Eigen::Vector3d slope = normal.ldlt().solve(right);
    if (slope.head<2>().norm() < 0.5) {
        Eigen::Matrix<double, 24, 1> plane;
        for (int i = 0; i < 24; ++i) plane[i] = slope.dot(place(i).homogeneous());
        consider(plane, {}, 0.8);
    }
    double least = 1e300;
    Mask edge{};
    Eigen::Vector2d sides = Eigen::Vector2d::Zero();
    for (int a = 0; a < 16; ++a) {
        const Eigen::Vector2d way(std::cos(a * std::numbers::pi / 8), std::sin(a * std::numbers::pi / 8));
        for (double at = -2.75; at <= 2.75; at += 0.5) {
            Eigen::Vector2d n = Eigen::Vector2d::Zero(), sum = Eigen::Vector2d::Zero();
            double squares = 0;
            Mask dark{};
            for (int i = 0; i < 24; ++i) {
                if (weight[i] == 0) continue;
                const int side = way.dot(place(i)) > at ? 1 : 0;
                dark[static_cast<std::size_t>(i)] = side == 1;
                n[side] += 1;
                sum[side] += light[i];
                squares += light[i] * light[i];
            }
            if (n.minCoeff() < 2) continue;
            const Eigen::Vector2d mean = sum.cwiseQuotient(n);
            const double within = squares - mean.cwiseAbs2().dot(n);
            if (mean[1] < mean[0] && within < least) {
                least = within;
                edge = dark;
                sides = mean;
            }
        }
    }
    if (sides[0] - sides[1] > 0.15 && sides[0] - sides[1] < 3) {
        Eigen::Matrix<double, 24, 1> step;
        for (int i = 0; i < 24; ++i) step[i] = sides[edge[static_cast<std::size_t>(i)] ? 1 : 0];
        consider(step, edge, 0.6);
    }
    return best;
}

/// What the middles of the patches read, weighted as published(); medians, so that dust and a spot of glare do not matter.
/// at: pixels of patch-grid coordinates (column, row), 0..5, 0..3. Readings outside the picture are not present.
template <class Pixel, class Place>
void read_middles(int width, int height, Pixel pixel, Place at, Patches& x, Mask& present) {
    for (int i = 0; i < 24; ++i) {
        std::array<std::array<float, 25>, 3> values{};
        std::size_t n = 0;
        for (int k = 0; k < 25; ++k) {
            const Point p = at(i % 6 + 0.1 * (k % 5 - 2), i / 6 + 0.1 * (k / 5 - 2));  // NOLINT(bugprone-integer-division)
            if (!(p.x >= 0 && p.y >= 0 && p.x < width && p.y < height)) continue;
            const auto v = pixel(static_cast<int>(p.x), static_cast<int>(p.y));
            for (std::size_t c = 0; c < 3; ++c) values[c][n] = v[c];
            ++n;
        }
        present[static_cast<std::size_t>(i)] = n >= 20;
        x.col(i).setZero();
        if (n < 20) continue;
        for (std::size_t c = 0; c < 3; ++c) {
            std::nth_element(values[c].begin(), values[c].begin() + static_cast<std::ptrdiff_t>(n / 2),
                             values[c].begin() + static_cast<std::ptrdiff_t>(n));
            x(static_cast<int>(c), i) = static_cast<double>(values[c][n / 2]) * published().weight[i];
        }
    }
}

Point place_of(const Eigen::Matrix3d& to_picture, const Eigen::Vector2d& cell) {
    const Eigen::Vector3d p = to_picture * cell.homogeneous();
    return {p[0] / p[2], p[1] / p[2]};
}

/// Corners in another order: 0..3 turned, 4..7 mirrored.
ChartCorners laid(const ChartCorners& c, int way) {
    ChartCorners out;
    for (std::size_t i = 0; i < 4; ++i) {
        const std::size_t k = way < 4 ? i : (5 - i) % 4;  // mirrored: 1, 0, 3, 2
        out[i] = c[(k + static_cast<std::size_t>(way)) % 4];
    }
    return out;
}

struct Candidate {
    ChartCorners corners{};
    Lit lit;
    Mask present{};
    int way = 0;
    double size = 0;  // pixels of pitch
    double own = 0;   // patches seen as such
    /// Of two grids over one chart the one that fits better; few patches make corners less sure, and in a shadow fit for being few.
    [[nodiscard]] double rank() const { return lit.colors.misfit * std::pow(24 / std::max(own, 1.0), 2); }
};

double area_of(const ChartCorners& c) {  // > 0: laid as it should be, < 0: mirrored
    double area = 0;
    for (std::size_t i = 0; i < 4; ++i) area += (c[i].x * c[(i + 1) % 4].y - c[(i + 1) % 4].x * c[i].y) / 2;
    return area;
}

/// The best of the eight ways to lay the chart between four corners.
Candidate best_way(const Photo& photo, const ChartCorners& corners) {
    Candidate best;
    for (int way = 0; way < 8; ++way) {
        Candidate c{laid(corners, way), {}, {}, way, std::sqrt(std::abs(area_of(corners)) / (kWidth * kHeight)), 24};
        const cv::Mat_<double> h = from_chart(c.corners);
        Patches x;
        constexpr double middle = (1 - kGap) / 2;
        read_middles(
            photo.width, photo.height, [&](int px, int py) { return photo.pixel(px, py); },
            [&](double column, double row) { return map(h, column + middle, row + middle); }, x, c.present);
        c.lit = fit_light_and_colors(x, c.present);
        if (c.lit.colors.misfit < best.lit.colors.misfit) best = c;
    }
    return best;
}

Error not_found(const Photo& photo, std::string cause, std::string remedy) {
    return Error{.fault = Fault::chart_not_found, .file = photo.path, .place = "chart", .cause = std::move(cause), .remedy = std::move(remedy)};
}

/// Means of blocks of pixels, longest side at most 1600; of blocks larger than 4 x 4 some of the pixels only.
SmallPicture reduced(const Photo& photo, int& shrink) {
    shrink = 1;
    while (std::max(photo.width, photo.height) / shrink > 1600) ++shrink;
    SmallPicture small{photo.width / shrink, photo.height / shrink, {}};
    small.rgb.resize(3UL * static_cast<std::size_t>(small.width) * static_cast<std::size_t>(small.height));
    const int step = (shrink + 3) / 4;
    std::size_t at = 0;
    for (int y = 0; y < small.height; ++y) {
        for (int x = 0; x < small.width; ++x) {
            std::array<float, 3> sum{};
            float n = 0;
            for (int dy = 0; dy < shrink; dy += step) {
                for (int dx = 0; dx < shrink; dx += step) {
                    const auto p = photo.pixel(x * shrink + dx, y * shrink + dy);
                    for (std::size_t c = 0; c < 3; ++c) sum[c] += p[c];
                    ++n;
                }
            }
            for (float v : sum) small.rgb[at++] = v / n;
        }
    }
    return small;
}

/// A way to lay the chart over a grid of patches: window of 6 x 4 cells whose first is (x, y), lying or standing, turned or mirrored.
struct Laying {
    int x = 0, y = 0;
    bool upright = false, back = false, down = false;
    /// Chart column and row to the grid's.
    [[nodiscard]] Eigen::Vector2d cell(double column, double row) const {
        if (back) column = 5 - column;
        if (down) row = 3 - row;
        return upright ? Eigen::Vector2d(x + row, y + column) : Eigen::Vector2d(x + column, y + row);
    }
    [[nodiscard]] bool holds(const Eigen::Vector2i& c) const {
        return c[0] >= x && c[1] >= y && c[0] < x + (upright ? 4 : 6) && c[1] < y + (upright ? 6 : 4);
    }
};

/// The one whose colors fit best.
Candidate best_on_grid(const SmallPicture& small, const PatchGrid& grid) {
    Eigen::Vector2i low = grid.cells.front(), high = low;
    for (const Eigen::Vector2i& c : grid.cells) {
        low = low.cwiseMin(c);
        high = high.cwiseMax(c);
    }
    Candidate best;
    best.size = grid.pitch;
    Laying laid_so;
    for (int kind = 0; kind < 8; ++kind) {
        Laying laying{0, 0, kind % 2 == 1, kind / 2 % 2 == 1, kind / 4 == 1};
        const int wide = laying.upright ? 4 : 6, tall = laying.upright ? 6 : 4;
        for (laying.y = low[1] - tall + 2; laying.y <= high[1] - 1; ++laying.y) {
            for (laying.x = low[0] - wide + 2; laying.x <= high[0] - 1; ++laying.x) {
                const auto inside = std::count_if(grid.cells.begin(), grid.cells.end(), [&](const Eigen::Vector2i& c) { return laying.holds(c); });
                if (inside < 6 || 2 * inside < static_cast<std::ptrdiff_t>(std::min<std::size_t>(grid.cells.size(), 24))) continue;
                Candidate c;
                Patches values;
                read_middles(
                    small.width, small.height, [&](int px, int py) { return small.pixel(px, py); },
                    [&](double column, double row) { return place_of(grid.to_picture, laying.cell(column, row)); }, values, c.present);
                if (count_of(c.present) < 8) continue;
                c.lit = fit_light_and_colors(values, c.present);
                if (c.lit.colors.misfit >= best.lit.colors.misfit) continue;
                c.size = grid.pitch;
                best = c;
                laid_so = laying;
            }
        }
    }
    // Corners from the chart's own patches alone: the grid may go on beyond it.
    Eigen::Matrix3d to_picture = grid.to_picture;
    std::vector<std::size_t> own;
    for (std::size_t i = 0; i < grid.cells.size(); ++i) {
        if (laid_so.holds(grid.cells[i])) own.push_back(i);
    }
    best.own = static_cast<double>(own.size());
    if (own.size() >= 12) {
        Eigen::Matrix2Xd from(2, own.size()), to(2, own.size());
        for (std::size_t i = 0; i < own.size(); ++i) {
            from.col(static_cast<Eigen::Index>(i)) = grid.cells[own[i]].cast<double>();
            to.col(static_cast<Eigen::Index>(i)) = grid.centers[own[i]];
        }
        to_picture = perspective(from, to);
    }
    constexpr double edge = (1 - kGap) / 2;
    constexpr std::array<std::array<double, 2>, 4> outer{{{-edge, -edge}, {5 + edge, -edge}, {5 + edge, 3 + edge}, {-edge, 3 + edge}}};
    for (std::size_t i = 0; i < 4; ++i) best.corners[i] = place_of(to_picture, laid_so.cell(outer[i][0], outer[i][1]));
    return best;
}

bool overlap(const ChartCorners& a, const ChartCorners& b) {
    const auto middle = [](const ChartCorners& c) { return Point{(c[0].x + c[1].x + c[2].x + c[3].x) / 4, (c[0].y + c[1].y + c[2].y + c[3].y) / 4}; };
    const Region ra = Polygon{{a.begin(), a.end()}}, rb = Polygon{{b.begin(), b.end()}};
    return contains(ra, middle(b)) || contains(rb, middle(a));
}

/// What is told of a chart whose place and way are known. Error: too few patches can be used.
Result<ChartSight> sight_of(const Photo& photo, const Candidate& chart) {
    ChartSight sight;
    sight.corners = chart.corners;
    sight.mirrored = area_of(chart.corners) < 0;
    const ColorFit& colors = chart.lit.colors;
    int shaded = 0, lit = 0, hidden = 0, outside = 0;
    for (std::size_t i = 0; i < 24; ++i) (chart.lit.shaded[i] ? shaded : lit) += colors.fits[i] ? 1 : 0;
    const bool darker_used = shaded > lit;
    for (std::size_t i = 0; i < 24; ++i) {
        if (!chart.present[i]) {
            sight.lost[i] = "outside the picture";
            ++outside;
        } else if (!colors.fits[i]) {
            sight.lost[i] = "covered, in glare or in shadow";
            ++hidden;
        } else if (chart.lit.shaded[i] != darker_used && shaded > 0) {
            sight.lost[i] = darker_used ? "lit otherwise than the rest" : "in shadow";
        }
    }
    const auto used = static_cast<int>(std::count_if(sight.lost.begin(), sight.lost.end(), [](const std::string& l) { return l.empty(); }));
    const std::string seen = "only " + std::to_string(used) + " of the chart's 24 patches can be used";
    if (used < kFewestPatches) {
        if (outside > 0) return not_found(photo, seen + ": it is cut off by the edge of the picture", "photograph the whole chart");
        if (shaded > 0) return not_found(photo, seen + ": a shadow lies over it", "move what throws the shadow, and photograph again");
        return not_found(photo, seen + ": something covers it, or glare lies on it", "clear the view, and photograph again");
    }
    if (sight.mirrored) sight.notes.emplace_back("the chart is mirrored: is the whole picture? Its colors fit, so it was used");
    const auto patches = [](int n) { return std::to_string(n) + (n == 1 ? " patch of the chart is " : " patches of the chart are "); };
    if (outside > 0) sight.notes.push_back(patches(outside) + "cut off by the edge of the picture; the others were used");
    if (hidden > 0) sight.notes.push_back(patches(hidden) + "covered, in glare or in shadow and left out; clear the view");
    if (shaded > 0 && lit > 0)
        sight.notes.push_back("the edge of a shadow crosses the chart; only its " + std::string(darker_used ? "darker" : "lighter") + " " +
                              std::to_string(used) + " patches were used; keep chart and parts in the same light");
    return sight;
}

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
    const MatrixFit fit = fit_matrix(rgb * published().weight.asDiagonal(), Eigen::Matrix<double, 24, 1>::Ones());
    return std::sqrt(fit.off.squaredNorm() / 24);
}

Result<ChartSight> find_chart(const Photo& photo) {
    if (photo.width < 60 || photo.height < 40)
        return not_found(photo, "the picture is too small to look for a chart", "give the corners with --chart x1,y1,...");
    int shrink = 1;
    const SmallPicture small = reduced(photo, shrink);
    std::vector<Candidate> charts;
    Candidate nearly;
    constexpr std::size_t kMostGrids = 60;
    std::size_t looked = 0;
    for (const PatchGrid& grid : patch_grids(small)) {
        if (++looked > kMostGrids) break;
        Candidate c = best_on_grid(small, grid);
        if (c.lit.colors.misfit > kFits) continue;
        for (Point& p : c.corners) p = {p.x * shrink, p.y * shrink};
        c.size *= shrink;
        if (count_of(c.lit.colors.fits) < kFewestPatches) {
            if (c.lit.colors.misfit < nearly.lit.colors.misfit) nearly = c;
            continue;
        }
        const auto same = std::find_if(charts.begin(), charts.end(), [&](const Candidate& k) { return overlap(k.corners, c.corners); });
        if (same == charts.end())
            charts.push_back(c);
        else if (c.rank() < same->rank())
            *same = c;
    }
    if (charts.empty()) {
        if (nearly.lit.colors.misfit < 0.6 * kFits && count_of(nearly.present) < 24)
            return not_found(photo, "the chart seems to be cut off by the edge of the picture", "photograph the whole chart");
        return not_found(photo, "no 24-patch chart found in the picture",
                         "photograph it larger and flatter, or give its corners (outer corners of dark skin, bluish green, black, white)");
    }
    const Candidate& chart = *std::max_element(charts.begin(), charts.end(), [](const Candidate& a, const Candidate& b) { return a.size < b.size; });
    if (chart.size < kSmallestPitch)
        return not_found(photo, "the chart is too small to measure (" + std::to_string(std::lround(chart.size)) + " pixels from patch to patch)",
                         "photograph it larger");
    Result<ChartSight> sight = sight_of(photo, chart);
    if (sight && charts.size() > 1) sight->notes.emplace_back("more than one chart is in the picture; the largest was used");
    return sight;
}

Result<ChartSight> check_corners(const Photo& photo, const ChartCorners& corners) {
    bool turns_left = false, turns_right = false;
    for (std::size_t i = 0; i < 4; ++i) {
        const Point a = corners[i], b = corners[(i + 1) % 4], c = corners[(i + 2) % 4];
        if (!std::isfinite(a.x) || !std::isfinite(a.y)) return not_found(photo, "a corner is not a number", "give eight figures");
        if (a.x < 0 || a.y < 0 || a.x > photo.width || a.y > photo.height) {
            return not_found(
                photo, "a corner lies outside the picture (" + std::to_string(photo.width) + " x " + std::to_string(photo.height) + ")",
                "give corners inside; of a chart that is cut off, the patches in view are used when it is found by itself (--chart auto)");
        }
        const double turn = (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
        (turn > 0 ? turns_right : turns_left) = true;
    }
    if (turns_left == turns_right) return not_found(photo, "the corners cross over", "give them going round: dark skin, bluish green, black, white");
    if (std::abs(area_of(corners)) < kWidth * kHeight * kSmallestPitch * kSmallestPitch)
        return not_found(photo, "the chart is too small to measure", "photograph it larger");
    const Candidate best = best_way(photo, corners);
    if (best.lit.colors.misfit > kFits) {
        return not_found(photo, "the colors between these corners do not fit the 24-patch chart",
                         "check the corners (outer corners of dark skin, bluish green, black, white), and that nothing covers the chart");
    }
    if (best.way != 0) {
        return not_found(photo,
                         best.way < 4 ? "the chart lies turned: the corners are given in another order" : "the corners are given in mirrored order",
                         "begin at dark skin, then bluish green, black, white; or let the chart be found");
    }
    return sight_of(photo, best);
}

}  // namespace sw
