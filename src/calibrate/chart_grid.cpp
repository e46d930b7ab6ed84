#include "calibrate/chart_grid.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <queue>
#include <utility>

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

/// One plain area that is about four-sided.
struct Plain {
    Vector2d center, u, v;  // middle; vectors along its sides, as long as they are
    double area = 0;
};

double cross(const Vector2d& a, const Vector2d& b) { return a[0] * b[1] - a[1] * b[0]; }

/// 8 bits, each channel scaled to its own light tones (a raw picture is green, a warm lamp yellow), cube root: steps look about alike to a threshold.
cv::Mat3b evened(const SmallPicture& picture) {
    const std::size_t pixels = picture.rgb.size() / 3;
    std::array<float, 3> light{};
    std::vector<float> values;
    for (std::size_t c = 0; c < 3; ++c) {
        values.clear();
        for (std::size_t i = 0; i < pixels; i += 7) values.push_back(picture.rgb[3 * i + c]);
        const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() * 95 / 100);
        std::nth_element(values.begin(), at, values.end());
        light[c] = std::max(*at, 1e-6F);
    }
    cv::Mat3b out(picture.height, picture.width);
    for (std::size_t i = 0; i < pixels; ++i) {
        for (std::size_t c = 0; c < 3; ++c)
            out.data[3 * i + c] = cv::saturate_cast<unsigned char>(190 * std::cbrt(std::max(0.F, picture.rgb[3 * i + c] / light[c])));
    }
    return out;
}

/// The four corners of a convex outline, or nothing where four do not describe it.
std::optional<std::array<Vector2d, 4>> four_sides(const std::vector<cv::Point>& hull, double area) {
    std::vector<cv::Point> four;
    const double length = cv::arcLength(hull, true);
    for (double tolerance = 0.02; tolerance < 0.13; tolerance += 0.01) {
        cv::approxPolyDP(hull, four, tolerance * length, true);
        if (four.size() <= 4) break;
    }
    if (four.size() != 4) return std::nullopt;
    const double quad = cv::contourArea(four);
    if (quad < 0.8 * area || quad > 1.25 * area) return std::nullopt;
    std::array<Vector2d, 4> corners;
    for (std::size_t i = 0; i < 4; ++i) corners[i] = {four[i].x, four[i].y};
    return corners;
}

void add_plain(const cv::Mat1b& steepness, int threshold, std::vector<Plain>& found) {
    cv::Mat1b plain;
    cv::compare(steepness, threshold, plain, cv::CMP_LE);
    cv::morphologyEx(plain, plain, cv::MORPH_OPEN, cv::Mat());
    std::vector<std::vector<cv::Point>> outlines;
    cv::findContours(plain, outlines, cv::RETR_LIST, cv::CHAIN_APPROX_SIMPLE);
    const double largest = 0.07 * static_cast<double>(steepness.total());
    std::vector<cv::Point> hull;
    for (const std::vector<cv::Point>& outline : outlines) {
        if (outline.size() < 4) continue;
        const double own = cv::contourArea(outline);
        if (own < 8 || own > largest) continue;
        const cv::Rect box = cv::boundingRect(outline);
        if (box.x <= 0 || box.y <= 0 || box.br().x >= steepness.cols || box.br().y >= steepness.rows) continue;  // cut off: its middle is unknown
        cv::convexHull(outline, hull);
        const double area = cv::contourArea(hull);
        if (own < 0.75 * area) continue;
        const auto corners = four_sides(hull, area);
        if (!corners) continue;
        const auto& [a, b, c, d] = *corners;
        Plain p{(a + b + c + d) / 4, ((b - a) + (c - d)) / 2, ((d - a) + (c - b)) / 2, area};
        const double ratio = p.u.norm() / p.v.norm();
        if (ratio > 3.5 || ratio < 1 / 3.5 || std::abs(cross(p.u, p.v)) < 0.35 * p.u.norm() * p.v.norm()) continue;
        const cv::Moments m = cv::moments(hull);
        if (m.m00 > 0) p.center = {m.m10 / m.m00, m.m01 / m.m00};
        const bool known = std::any_of(found.begin(), found.end(), [&](const Plain& k) {
            return (k.center - p.center).squaredNorm() < 0.06 * p.area && k.area < 1.7 * p.area && p.area < 1.7 * k.area;
        });
        if (!known) found.push_back(p);
    }
}

/// Where things are by their place, so that neighbors are found quickly.
class Places {
public:
    Places(const std::vector<Plain>& plain, double side) : side_(side) {
        for (std::size_t i = 0; i < plain.size(); ++i) cells_[key(plain[i].center)].push_back(static_cast<int>(i));
    }
    template <class Call>
    void near(const Vector2d& at, double radius, Call call) const {
        const auto reach = static_cast<int>(std::ceil(radius / side_));
        const auto [x, y] = key(at);
        for (int dy = -reach; dy <= reach; ++dy) {
            for (int dx = -reach; dx <= reach; ++dx) {
                const auto cell = cells_.find({x + dx, y + dy});
                if (cell == cells_.end()) continue;
                for (int i : cell->second) call(i);
            }
        }
    }

private:
    [[nodiscard]] std::pair<int, int> key(const Vector2d& p) const {
        return {static_cast<int>(std::floor(p[0] / side_)), static_cast<int>(std::floor(p[1] / side_))};
    }
    double side_;
    std::map<std::pair<int, int>, std::vector<int>> cells_;
};

struct Cell {
    int plain;
    Vector2d u, v;  // to the next column and row, as far as known here
};
using Cells = std::map<std::pair<int, int>, Cell>;

/// The step from a patch to its next neighbor along one of its sides, on either hand; nothing where there is none of like size.
std::optional<Vector2d> first_step(const std::vector<Plain>& plain, const Places& places, const Plain& seed, const Vector2d& along,
                                   const Vector2d& across) {
    Eigen::Matrix2d basis;
    basis << along, across;
    const Eigen::Matrix2d inverse = basis.inverse();
    std::optional<Vector2d> best;
    double least = 2.5;
    places.near(seed.center, 2.5 * along.norm(), [&](int k) {
        const Plain& other = plain[static_cast<std::size_t>(k)];
        if (other.area < 0.45 * seed.area || other.area > 2.2 * seed.area) return;
        const Vector2d delta = other.center - seed.center, in = inverse * delta;
        const double forward = std::abs(in[0]);
        if (forward < 1.02 || forward >= least || std::abs(in[1]) > 0.3) return;
        least = forward;
        best = in[0] > 0 ? delta : Vector2d(-delta);
    });
    return best;
}

Cells grown(const std::vector<Plain>& plain, const Places& places, int seed, const Vector2d& u, const Vector2d& v) {
    constexpr int kReach = 5;  // from any patch of the chart to any other
    Cells cells;
    std::vector<bool> used(plain.size(), false);
    cells[{0, 0}] = {seed, u, v};
    used[static_cast<std::size_t>(seed)] = true;
    std::queue<std::pair<int, int>> open;
    open.push({0, 0});
    constexpr std::array<std::pair<int, int>, 4> ways{std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    while (!open.empty()) {
        const std::pair<int, int> at = open.front();
        open.pop();
        for (const auto& [dx, dy] : ways) {
            const Cell here = cells.at(at);
            const std::pair<int, int> next{at.first + dx, at.second + dy};
            if (std::abs(next.first) > kReach || std::abs(next.second) > kReach || cells.count(next) > 0) continue;
            const Plain& from = plain[static_cast<std::size_t>(here.plain)];
            const Vector2d step = dx * here.u + dy * here.v, goal = from.center + step;
            int best = -1;
            double least = 0.3 * step.norm();
            places.near(goal, least, [&](int k) {
                const Plain& other = plain[static_cast<std::size_t>(k)];
                if (used[static_cast<std::size_t>(k)] || other.area < 0.4 * from.area || other.area > 2.5 * from.area) return;
                const double d = (other.center - goal).norm();
                if (d < least) {
                    least = d;
                    best = k;
                }
            });
            if (best < 0) continue;
            Cell cell{best, here.u, here.v};
            const Vector2d real = plain[static_cast<std::size_t>(best)].center - from.center;
            if (dx != 0) cell.u = 0.5 * (cell.u + dx * real);
            if (dy != 0) cell.v = 0.5 * (cell.v + dy * real);
            used[static_cast<std::size_t>(best)] = true;
            cells[next] = cell;
            open.push(next);
        }
    }
    return cells;
}

Vector2d through(const Matrix3d& h, double x, double y) { return (h * Vector3d(x, y, 1)).hnormalized(); }

bool in_a_row(const std::vector<Eigen::Vector2i>& cells) {
    const auto [x0, x1] = std::minmax_element(cells.begin(), cells.end(), [](auto& a, auto& b) { return a[0] < b[0]; });
    const auto [y0, y1] = std::minmax_element(cells.begin(), cells.end(), [](auto& a, auto& b) { return a[1] < b[1]; });
    return (*x0)[0] == (*x1)[0] || (*y0)[1] == (*y1)[1];
}

/// One perspective for all cells; then every plain area that stands on it counts, be it linked or not.
std::optional<PatchGrid> held(const std::vector<Plain>& plain, const Places& places, const Cells& cells) {
    // From the patches about the first one outward: what joins on at a bend is left behind.
    using Seen = std::vector<std::pair<Eigen::Vector2i, int>>;
    Seen now;
    for (int reach = 2; reach <= 3 && now.size() < 6; ++reach) {
        now.clear();
        for (const auto& [at, cell] : cells) {
            if (std::max(std::abs(at.first), std::abs(at.second)) <= reach) now.emplace_back(Eigen::Vector2i(at.first, at.second), cell.plain);
        }
    }
    PatchGrid grid;
    constexpr std::array<double, 3> reaches{3, 5, 5}, offs{0.2, 0.15, 0.1};
    for (std::size_t round = 0; round <= reaches.size(); ++round) {
        grid.cells.clear();
        grid.centers.clear();
        Eigen::Matrix2Xd from(2, now.size()), to(2, now.size());
        for (std::size_t i = 0; i < now.size(); ++i) {
            from.col(static_cast<Eigen::Index>(i)) = now[i].first.cast<double>();
            to.col(static_cast<Eigen::Index>(i)) = plain[static_cast<std::size_t>(now[i].second)].center;
            grid.cells.push_back(now[i].first);
            grid.centers.emplace_back(to.col(static_cast<Eigen::Index>(i)));
        }
        if (now.size() < 6 || in_a_row(grid.cells)) return std::nullopt;
        grid.to_picture = perspective(from, to);
        const Matrix3d back = grid.to_picture.inverse();
        if (!back.allFinite()) return std::nullopt;
        const Vector2d middle = from.rowwise().mean(), here = through(grid.to_picture, middle[0], middle[1]);
        const Vector2d right = through(grid.to_picture, middle[0] + 1, middle[1]) - here,
                       down = through(grid.to_picture, middle[0], middle[1] + 1) - here;
        grid.pitch = std::sqrt(std::abs(cross(right, down)));
        if (!(grid.pitch > 4) || !(grid.pitch < 1e4)) return std::nullopt;
        if (round == reaches.size()) break;
        std::map<std::pair<int, int>, std::pair<double, int>> best;
        places.near(here, 11 * grid.pitch, [&](int k) {
            const Plain& p = plain[static_cast<std::size_t>(k)];
            const Vector3d at = back * p.center.homogeneous();
            const Vector2d cell(at[0] / at[2], at[1] / at[2]);
            if (!(cell.cwiseAbs().maxCoeff() < reaches[round] + 0.3)) return;
            const Vector2d whole(std::round(cell[0]), std::round(cell[1]));
            const double off = (cell - whole).norm();
            const Vector2d next = through(grid.to_picture, cell[0] + 1, cell[1]) - p.center,
                           below = through(grid.to_picture, cell[0], cell[1] + 1) - p.center;
            const double share = p.area / std::abs(cross(next, below));  // of the pitch squared: a patch, not a speck and not a group
            if (off > offs[round] || share < 0.2 || share > 1.0) return;
            const std::pair<int, int> key{static_cast<int>(whole[0]), static_cast<int>(whole[1])};
            const auto place = best.find(key);
            if (place == best.end() || off < place->second.first) best[key] = {off, k};
        });
        now.clear();
        for (const auto& [at, what] : best) now.emplace_back(Eigen::Vector2i(at.first, at.second), what.second);
    }
    return grid;
}

SmallPicture halved(const SmallPicture& p) {
    SmallPicture half{p.width / 2, p.height / 2, {}};
    half.rgb.resize(3UL * static_cast<std::size_t>(half.width) * static_cast<std::size_t>(half.height));
    std::size_t at = 0;
    for (int y = 0; y < half.height; ++y) {
        for (int x = 0; x < half.width; ++x) {
            for (int c = 0; c < 3; ++c)
                half.rgb[at++] =
                    (p.pixel(2 * x, 2 * y)[c] + p.pixel(2 * x + 1, 2 * y)[c] + p.pixel(2 * x, 2 * y + 1)[c] + p.pixel(2 * x + 1, 2 * y + 1)[c]) / 4;
        }
    }
    return half;
}

void grids_of(const SmallPicture& picture, double scale, std::vector<PatchGrid>& all) {
    cv::Mat3b smooth = evened(picture), high, low;
    cv::medianBlur(smooth, smooth, 3);
    cv::dilate(smooth, high, cv::Mat());
    cv::erode(smooth, low, cv::Mat());
    cv::Mat1b steepness(smooth.size());
    for (int y = 0; y < smooth.rows; ++y) {
        for (int x = 0; x < smooth.cols; ++x) {
            const cv::Vec3b h = high(y, x), l = low(y, x);
            steepness(y, x) = static_cast<unsigned char>(std::max({h[0] - l[0], h[1] - l[1], h[2] - l[2]}));
        }
    }
    std::vector<Plain> plain;
    for (int threshold : {5, 9, 16, 28}) add_plain(steepness, threshold, plain);
    const Places places(plain, 24);
    std::vector<bool> placed(plain.size(), false);
    for (std::size_t seed = 0; seed < plain.size(); ++seed) {
        if (placed[seed]) continue;
        const Plain& p = plain[seed];
        const auto u = first_step(plain, places, p, p.u, p.v), v = first_step(plain, places, p, p.v, p.u);
        if (!u || !v) continue;
        const Cells cells = grown(plain, places, static_cast<int>(seed), *u, *v);
        if (cells.size() < 6) continue;
        std::optional<PatchGrid> grid = held(plain, places, cells);
        if (!grid) continue;
        if (grid->cells.size() >= 12) {
            for (const auto& [at, cell] : cells) placed[static_cast<std::size_t>(cell.plain)] = true;
        }
        // outlines run through the middles of pixels; half-size pixels to those asked about
        Matrix3d larger;
        larger << scale, 0, scale / 2, 0, scale, scale / 2, 0, 0, 1;
        grid->to_picture = larger * grid->to_picture;
        for (Vector2d& c : grid->centers) c = scale * (c + Vector2d::Constant(0.5));
        grid->pitch *= scale;
        all.push_back(std::move(*grid));
    }
}

}  // namespace

Matrix3d perspective(const Eigen::Matrix2Xd& from, const Eigen::Matrix2Xd& to) {
    // Hartley & Zisserman 2004, algorithm 4.2: both sets moved to their middle and scaled, smallest eigenvector; rounds of reweighting by the
    // distance.
    const auto normal = [](const Eigen::Matrix2Xd& p) {
        const Vector2d middle = p.rowwise().mean();
        const double scale = std::sqrt(2.0) / std::max(1e-9, (p.colwise() - middle).colwise().norm().mean());
        Matrix3d t;
        t << scale, 0, -scale * middle[0], 0, scale, -scale * middle[1], 0, 0, 1;
        return t;
    };
    const Matrix3d a = normal(from), b = normal(to);
    Eigen::VectorXd weight = Eigen::VectorXd::Ones(from.cols());
    Matrix3d h = Matrix3d::Identity();
    for (int round = 0; round < (from.cols() > 5 ? 5 : 1); ++round) {
        Eigen::Matrix<double, 9, 9> sum = Eigen::Matrix<double, 9, 9>::Zero();
        for (Eigen::Index i = 0; i < from.cols(); ++i) {
            const Vector3d p = a * from.col(i).homogeneous(), q = b * to.col(i).homogeneous();
            Eigen::Matrix<double, 9, 1> x, y;
            x << p, Vector3d::Zero(), -q[0] * p;
            y << Vector3d::Zero(), p, -q[1] * p;
            sum += weight[i] * (x * x.transpose() + y * y.transpose());
        }
        const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 9, 9>> solver(sum);
        const Eigen::Matrix<double, 9, 1> v = solver.eigenvectors().col(0);
        Matrix3d n;
        n << v.segment<3>(0).transpose(), v.segment<3>(3).transpose(), v.segment<3>(6).transpose();
        h = b.inverse() * n * a;
        std::vector<double> off;
        for (Eigen::Index i = 0; i < from.cols(); ++i) off.push_back((through(h, from(0, i), from(1, i)) - to.col(i)).norm());
        std::vector<double> sorted = off;
        std::sort(sorted.begin(), sorted.end());
        const double usual = std::max(sorted[sorted.size() / 2], 1e-6 * (to.colwise() - to.rowwise().mean()).norm());
        for (Eigen::Index i = 0; i < from.cols(); ++i) {
            const double r = off[static_cast<std::size_t>(i)] / (3 * usual);
            weight[i] = 1 / ((1 + r * r) * (1 + r * r));
        }
    }
    // positive depth at the middle of the points
    const Vector2d middle = from.rowwise().mean();
    if ((h.row(2) * middle.homogeneous()).value() < 0) h = -h;
    return h;
}

std::vector<PatchGrid> patch_grids(const SmallPicture& picture) {
    std::vector<PatchGrid> all;
    SmallPicture now = picture;
    for (double scale = 1; scale <= 4; scale *= 2) {
        if (std::min(now.width, now.height) < 30) break;
        grids_of(now, scale, all);
        now = halved(now);
    }
    std::stable_sort(all.begin(), all.end(), [](const PatchGrid& a, const PatchGrid& b) { return a.cells.size() > b.cells.size(); });
    return all;
}

}  // namespace sw
