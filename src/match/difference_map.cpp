#include "match/difference_map.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "calibrate/sensed.hpp"
#include "color/difference.hpp"
#include "color/quantile.hpp"
#include "color/rows.hpp"
#include "match/compare.hpp"
#include "spectral/random.hpp"

namespace sw {
namespace {

using Cell = DifferenceMap::Cell;

constexpr double kMostCells = 40'000;  // more than a page can show
constexpr int kMeanDraws = 96;         // of the part's mean
constexpr double kQuiet = 0.2;         // CIEDE2000 of grain in a figure that smoothing aims at
constexpr double kBlotch = 0.7;        // CIEDE2000 from the usual color from which on a place is named

/// Means of the pixels inside the region, cell by cell.
struct Grid {
    int width = 0, height = 0;
    double cell = 1;
    Box part;
    std::vector<Eigen::Vector3d> scene;  // diffuser = 1, light leveled
    std::vector<double> weight;          // share of the cell's pixels that count
    std::vector<Cell> kind;

    [[nodiscard]] std::size_t at(int x, int y) const {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
    }
    [[nodiscard]] Point middle(int x, int y) const { return {part.x + (x + 0.5) * cell, part.y + (y + 0.5) * cell}; }
};

Grid grid_of(const Photo& photo, const SensorModel& model, const Region& region) {
    const Box box = bounds(region);
    const int x0 = std::max(0, static_cast<int>(std::floor(box.x))), y0 = std::max(0, static_cast<int>(std::floor(box.y))),
              x1 = std::min(photo.width, static_cast<int>(std::ceil(box.x + box.w))),
              y1 = std::min(photo.height, static_cast<int>(std::ceil(box.y + box.h)));
    Grid grid;
    const int side = std::max(1, static_cast<int>(std::ceil(std::sqrt((x1 - x0) * static_cast<double>(y1 - y0) / kMostCells))));
    grid.cell = side;
    grid.width = (x1 - x0 + side - 1) / side;
    grid.height = (y1 - y0 + side - 1) / side;
    grid.part = {static_cast<double>(x0), static_cast<double>(y0), static_cast<double>(x1 - x0), static_cast<double>(y1 - y0)};
    const std::size_t count = static_cast<std::size_t>(grid.width) * static_cast<std::size_t>(grid.height);
    std::vector<Eigen::Vector3d> sum(count, Eigen::Vector3d::Zero());
    std::vector<int> good(count, 0), clipped(count, 0);
    for_each_run(region, photo.width, photo.height, [&](int y, int begin, int end) {
        for (int x = begin; x < end; ++x) {
            const std::size_t i = grid.at((x - x0) / side, (y - y0) / side);
            if (photo.clipped_at(x, y)) {
                ++clipped[i];
                continue;
            }
            const auto p = photo.pixel(x, y);
            sum[i] += Eigen::Vector3d(p[0], p[1], p[2]);
            ++good[i];
        }
    });
    grid.scene.resize(count);
    grid.weight.assign(count, 0);
    grid.kind.assign(count, Cell::outside);
    for (int y = 0; y < grid.height; ++y) {
        for (int x = 0; x < grid.width; ++x) {
            const std::size_t i = grid.at(x, y);
            if (2 * (good[i] + clipped[i]) < side * side) continue;  // mostly beyond the edge
            grid.kind[i] = good[i] > 2 * clipped[i] ? Cell::judged : Cell::spoiled;
            if (grid.kind[i] != Cell::judged) continue;
            grid.scene[i] = model.scene(sum[i] / good[i], grid.middle(x, y));
            grid.weight[i] = static_cast<double>(good[i]) / (side * side);
        }
    }
    return grid;
}

double quantile_of(std::vector<double> values, double q) {
    if (values.empty()) return 0;
    std::sort(values.begin(), values.end());
    return quantile_of_sorted(values, q);
}
double median_of(std::vector<double> values) { return quantile_of(std::move(values), 0.5); }

/// The usual color of the judged cells, channel by channel, and how wide they lie about it (robust standard deviation).
std::pair<Eigen::Vector3d, Eigen::Vector3d> usual_of(const Grid& grid) {
    Eigen::Vector3d middle, spread;
    for (int c = 0; c < 3; ++c) {
        std::vector<double> values;
        for (std::size_t i = 0; i < grid.kind.size(); ++i) {
            if (grid.kind[i] == Cell::judged) values.push_back(grid.scene[i][c]);
        }
        middle[c] = median_of(values);
        for (double& v : values) v = std::abs(v - middle[c]);
        spread[c] = 1.4826 * median_of(values);
    }
    return {middle, spread};
}

/// Gloss adds the lamp's own light: a highlight rises far above the paint and lies toward white rather than along the paint's own color (where the
/// paint is as good as neutral itself, the two cannot be told apart). From its top it is followed down a few cells, as long as it falls. Paint that
/// lies thin over white is toward white as well, but not so bright.
void mark_gloss(Grid& grid) {
    const auto [usual, spread] = usual_of(grid);
    const Eigen::Vector3d white = Eigen::Vector3d::Constant(1 / std::sqrt(3.0)), body = usual.normalized();
    const bool neutral = body.dot(white) > std::cos(6 * std::numbers::pi / 180);
    const double top = std::max({6 * spread.mean(), 0.5 * usual.mean(), 0.04}), foot = std::max(3 * spread.mean(), 0.05 * usual.mean());
    std::vector<std::size_t> front;
    for (std::size_t i = 0; i < grid.kind.size(); ++i) {
        if (grid.kind[i] == Cell::spoiled) front.push_back(i);
        if (grid.kind[i] != Cell::judged) continue;
        const Eigen::Vector3d more = grid.scene[i] - usual;
        if (more.mean() < top || !(neutral || more.normalized().dot(white) > more.normalized().dot(body))) continue;
        grid.kind[i] = Cell::glossy;
        front.push_back(i);
    }
    constexpr int kFollow = 5;  // cells
    for (int step = 0; step < kFollow && !front.empty(); ++step) {
        std::vector<std::size_t> next;
        for (const std::size_t i : front) {
            const int x = static_cast<int>(i % static_cast<std::size_t>(grid.width)), y = static_cast<int>(i / static_cast<std::size_t>(grid.width));
            for (int j = -1; j <= 1; ++j) {
                for (int k = -1; k <= 1; ++k) {
                    if (x + k < 0 || y + j < 0 || x + k >= grid.width || y + j >= grid.height) continue;
                    const std::size_t n = grid.at(x + k, y + j);
                    if (grid.kind[n] != Cell::judged) continue;
                    const double more = grid.scene[n].mean() - usual.mean(), before = grid.scene[i].mean() - usual.mean();
                    const bool falls = grid.kind[i] == Cell::spoiled || more < 0.9 * before;
                    if (step > 0 && (more < foot || !falls)) continue;  // the first cell around is always part of it
                    grid.kind[n] = Cell::glossy;
                    next.push_back(n);
                }
            }
        }
        front = std::move(next);
    }
}

/// Means over a bell of the judged cells around each, in linear light.
std::vector<Eigen::Vector3d> smoothed(const Grid& grid, double width_px) {
    const double sigma = width_px / grid.cell / 2.3548;
    const int reach = std::max(1, static_cast<int>(std::ceil(2.5 * sigma)));
    std::vector<double> bell(static_cast<std::size_t>(reach) + 1);
    for (std::size_t k = 0; k < bell.size(); ++k) bell[k] = std::exp(-0.5 * std::pow(static_cast<double>(k) / std::max(sigma, 1e-3), 2));
    const std::size_t count = grid.kind.size();
    std::vector<Eigen::Vector4d> from(count, Eigen::Vector4d::Zero()), across(count), both(count);
    for (std::size_t i = 0; i < count; ++i) {
        if (grid.kind[i] == Cell::judged) from[i] << grid.weight[i] * grid.scene[i], grid.weight[i];
    }
    for (int y = 0; y < grid.height; ++y) {
        for (int x = 0; x < grid.width; ++x) {
            Eigen::Vector4d sum = Eigen::Vector4d::Zero();
            for (int k = std::max(-reach, -x); k <= std::min(reach, grid.width - 1 - x); ++k)
                sum += bell[static_cast<std::size_t>(std::abs(k))] * from[grid.at(x + k, y)];
            across[grid.at(x, y)] = sum;
        }
    }
    for (int y = 0; y < grid.height; ++y) {
        for (int x = 0; x < grid.width; ++x) {
            Eigen::Vector4d sum = Eigen::Vector4d::Zero();
            for (int k = std::max(-reach, -y); k <= std::min(reach, grid.height - 1 - y); ++k)
                sum += bell[static_cast<std::size_t>(std::abs(k))] * across[grid.at(x, y + k)];
            both[grid.at(x, y)] = sum;
        }
    }
    std::vector<Eigen::Vector3d> result(count, Eigen::Vector3d::Zero());
    for (std::size_t i = 0; i < count; ++i) {
        if (grid.kind[i] == Cell::judged && both[i][3] > 0) result[i] = both[i].head<3>() / both[i][3];
    }
    return result;
}

/// From scene RGB to Lab near the part's color: the regression's slope there, laid through the anchor.
struct ToLab {
    const SensorModel* model;
    Eigen::Vector3d at, color;
    Eigen::Matrix3d gain;
    [[nodiscard]] Eigen::Vector3d operator()(const Eigen::Vector3d& scene) const { return color + gain * (model->feature(scene) - at); }
};

ToLab to_lab(const SensorModel& model, const Eigen::Vector3d& mean, const Lab& color, const Light& under, Observer observer) {
    const std::vector<Eigen::Vector3d> at{model.feature(mean)};
    const LibraryView target = lab_view(under, observer);
    const LocalMap map = local_map(neighborhood({&model.view()}, at), {&model.view()}, at, 0.01 * Eigen::Matrix3d::Identity(), {&target});
    return {&model, at[0], {color.L, color.a, color.b}, map.gain.topRows<3>()};
}

/// What grain leaves in a figure: second differences of the map a smoothing width apart, so that neither slopes nor large patches count. Robust.
double noise_of(const Grid& grid, const std::vector<Eigen::Vector3d>& lab, const Lab& middle, double width_px) {
    const int lag = std::max(1, static_cast<int>(std::ceil(1.2 * width_px / grid.cell)));
    std::vector<double> sizes;
    const auto add = [&](std::size_t a, std::size_t b, std::size_t c) {
        for (const std::size_t i : {a, b, c}) {
            if (grid.kind[i] != Cell::judged) return;
        }
        sizes.push_back(difference_about(middle, (lab[a] - 2 * lab[b] + lab[c]) / std::sqrt(6.0)));
    };
    const int step = std::max(1, lag / 2);
    for (int y = 0; y < grid.height; y += step) {
        for (int x = 0; x < grid.width; x += step) {
            if (x + 2 * lag < grid.width) add(grid.at(x, y), grid.at(x + lag, y), grid.at(x + 2 * lag, y));
            if (y + 2 * lag < grid.height) add(grid.at(x, y), grid.at(x, y + lag), grid.at(x, y + 2 * lag));
        }
    }
    if (sizes.size() < 12) return std::numeric_limits<double>::quiet_NaN();
    // median length of a normal step; between one dimension (0.67 of its root mean square) and three (0.89): grain is mostly in lightness
    return median_of(sizes) / 0.78;
}

/// Draws of the difference between the part's mean and the target, evenly spread and mirrored, the first of them none.
std::vector<Eigen::Vector3d> draws_of(const Eigen::Matrix3d& covariance) {
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(covariance);
    const Eigen::Matrix3d root = eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
    Random random(20);
    std::vector<Eigen::Vector3d> draws{Eigen::Vector3d::Zero()};
    while (draws.size() < kMeanDraws) {
        const double z = random.normal(), y = random.normal(), x = random.normal();
        const Eigen::Vector3d u(x, y, z);
        draws.emplace_back(root * u);
        draws.emplace_back(-(root * u));
    }
    return draws;
}

MapFigure figure_of(std::vector<double> drawn) {
    MapFigure figure;
    figure.value = drawn.front();
    figure.ci95 = {std::min(figure.value, quantile_of(drawn, 0.025)), std::max(figure.value, quantile_of(drawn, 0.975))};
    return figure;
}

std::string place_in(const Box& part, Point at, bool edge) {
    const double u = (at.x - part.x) / part.w, v = (at.y - part.y) / part.h;
    const std::string column = u < 0.34 ? "left" : u > 0.66 ? "right" : "", row = v < 0.34 ? "upper" : v > 0.66 ? "lower" : "";
    if (column.empty() && row.empty()) return "middle";
    if (!column.empty() && !row.empty()) return row + " " + column;
    if (edge) return (!column.empty() ? column : row) + " edge";
    return !column.empty() ? column : row + " part";
}

/// Connected places whose smoothed color lies clear of the usual one, strongest first.
std::vector<MapPatch> patches_of(const Grid& grid, const std::vector<Eigen::Vector3d>& lab, const Lab& usual, double noise) {
    const double least = std::max(kBlotch, 3.5 * noise);
    const std::size_t count = grid.kind.size();
    std::size_t judged = 0;
    const Eigen::Vector3d center(usual.L, usual.a, usual.b);
    std::vector<std::uint8_t> off(count, 0);
    for (std::size_t i = 0; i < count; ++i) {
        if (grid.kind[i] != Cell::judged) continue;
        ++judged;
        const Lab here{lab[i][0], lab[i][1], lab[i][2], usual.white};
        // lighter and darker places that touch are two patches
        if (difference_2000(usual, here) > least) off[i] = here.L >= usual.L ? 1 : 2;
    }
    std::vector<MapPatch> patches;
    std::vector<std::size_t> stack;
    for (int y = 0; y < grid.height; ++y) {
        for (int x = 0; x < grid.width; ++x) {
            const std::size_t start = grid.at(x, y);
            const std::uint8_t side = off[start];
            if (side == 0) continue;
            stack.assign(1, start);
            off[start] = 0;
            Eigen::Vector3d sum = Eigen::Vector3d::Zero();
            double sx = 0, sy = 0, n = 0;
            bool edge = false;
            while (!stack.empty()) {
                const std::size_t i = stack.back();
                stack.pop_back();
                const int cx = static_cast<int>(i % static_cast<std::size_t>(grid.width)),
                          cy = static_cast<int>(i / static_cast<std::size_t>(grid.width));
                sum += lab[i];
                sx += cx;
                sy += cy;
                ++n;
                edge = edge || cx <= 1 || cy <= 1 || cx >= grid.width - 2 || cy >= grid.height - 2;
                for (const auto& [dx, dy] : {std::pair{-1, 0}, {1, 0}, {0, -1}, {0, 1}}) {
                    const int u = cx + dx, v = cy + dy;
                    if (u < 0 || v < 0 || u >= grid.width || v >= grid.height || off[grid.at(u, v)] != side) continue;
                    off[grid.at(u, v)] = 0;
                    stack.push_back(grid.at(u, v));
                }
            }
            const double share = n / static_cast<double>(std::max<std::size_t>(judged, 1));
            if (share < 0.01) continue;
            const Eigen::Vector3d mean = sum / n;
            const Lab color{mean[0], mean[1], mean[2], usual.white};
            MapPatch patch;
            patch.at = {grid.part.x + (sx / n + 0.5) * grid.cell, grid.part.y + (sy / n + 0.5) * grid.cell};
            patch.where = place_in(grid.part, patch.at, edge);
            patch.share = share;
            patch.de00 = difference_2000(usual, color);
            const Components steps = components(usual, color);
            patch.dL = steps.dL;
            patch.dC = steps.dC;
            patch.dH = steps.dH;
            patch.words = difference_words(usual, color);
            patches.push_back(std::move(patch));
        }
    }
    std::stable_sort(patches.begin(), patches.end(),
                     [](const MapPatch& a, const MapPatch& b) { return a.de00 * std::sqrt(a.share) > b.de00 * std::sqrt(b.share); });
    if (patches.size() > 4) patches.resize(4);
    return patches;
}

/// How far the light at one end of the region against the other is open, as a step of L*: the larger of across and down.
double light_doubt(const SensorModel& model, const Box& part, double L) {
    const Eigen::MatrixXd covariance = model.covariance().block(kSensitivitySize, kSensitivitySize, doubt_count, doubt_count);
    double most = 0;
    const Point middle{part.x + part.w / 2, part.y + part.h / 2};
    for (const auto& [a, b] : {std::pair{Point{part.x, middle.y}, Point{part.x + part.w, middle.y}},
                               std::pair{Point{middle.x, part.y}, Point{middle.x, part.y + part.h}}}) {
        const Eigen::Matrix<double, 3, doubt_count> step = model.field_by_doubts(a) - model.field_by_doubts(b);
        const Eigen::RowVectorXd mean = step.colwise().mean();
        most = std::max(most, std::sqrt(std::max(0.0, (mean * covariance * mean.transpose())(0, 0))));
    }
    return most * (L + 16) / 3;  // dL* = 116/3 Y^(1/3) dY/Y
}

}  // namespace

MapAnchor map_anchor(const Comparison& c) {
    // compare() gives the difference by its steps; laid to the chip's reading they give the part's color back
    const Lab& chip = c.chip.lab;
    const Lch from = lch(chip);
    const Difference& d = c.difference;
    const double chroma = std::max(0.0, from.C + d.dC);
    const double turn = from.C > 1e-6 && chroma > 1e-6 ? 2 * std::asin(std::clamp(d.dH / (2 * std::sqrt(from.C * chroma)), -1.0, 1.0)) : 0;
    MapAnchor anchor;
    anchor.target = chip;
    anchor.part = lab(Lch{from.L + d.dL, chroma, from.h + turn * 180 / std::numbers::pi}, chip.white);
    const double hue = (from.h + turn * 90 / std::numbers::pi) * std::numbers::pi / 180;
    Eigen::Matrix3d axes = Eigen::Matrix3d::Identity();
    axes.block<2, 2>(1, 1) << std::cos(hue), -std::sin(hue), std::sin(hue), std::cos(hue);
    const Eigen::Vector3d sd(d.dL_sd, d.dC_sd, d.dH_sd);
    anchor.covariance = axes * sd.cwiseAbs2().asDiagonal() * axes.transpose();
    return anchor;
}

Result<DifferenceMap> difference_map(const Photo& photo, const Calibration& calibration, const Region& region, const MapAnchor& anchor,
                                     const Light& under, Observer observer, const MapOptions& options) {
    const Result<RegionStatistics> whole = region_statistics(photo, region, "part");
    if (!whole) return whole.error();
    const SensorModel& model = *calibration.sensor;
    Grid grid = grid_of(photo, model, region);
    const double shorter = std::min(grid.part.w, grid.part.h);
    if (options.smooth && (!(*options.smooth >= 1) || *options.smooth > shorter / 2))
        return Error{Fault::bad_usage, photo.path, "smoothing over " + std::to_string(std::lround(*options.smooth)) + " pixels",
                     "is not between 1 pixel and half of the region", "give fewer pixels, or leave it to the program"};
    mark_gloss(grid);

    DifferenceMap map;
    map.part = grid.part;
    map.width = grid.width;
    map.height = grid.height;
    map.cell = grid.cell;
    map.tolerance = options.tolerance;
    double judged = 0, region_cells = 0;
    for (const Cell kind : grid.kind) {
        judged += kind == Cell::judged;
        map.glossy += kind == Cell::glossy;
        map.spoiled += kind == Cell::spoiled;
        region_cells += kind != Cell::outside;
    }
    map.glossy /= std::max(region_cells, 1.0);
    map.spoiled /= std::max(region_cells, 1.0);
    if (judged < 16)
        return Error{Fault::region_too_small, photo.path, "part " + to_text(region), "is clipped, glossy or so small that nothing can be judged",
                     "mark a larger part, or photograph it again with the glare off it"};

    // the anchor's color is that of this mean
    const ToLab convert = to_lab(model, model.scene(whole->mean, center(region)), anchor.part, under, observer);
    std::vector<Eigen::Vector3d> lab;
    map.smooth = options.smooth.value_or(std::clamp(shorter / 40, std::max(3.0, 1.5 * grid.cell), shorter / 6));
    for (;;) {
        lab = smoothed(grid, map.smooth);
        for (std::size_t i = 0; i < lab.size(); ++i) {
            if (grid.kind[i] == Cell::judged) lab[i] = convert(lab[i]);
        }
        map.noise = noise_of(grid, lab, anchor.part, map.smooth);
        if (options.smooth || !(map.noise > kQuiet) || map.smooth > shorter / 10) break;
        map.smooth *= 1.5;
    }
    map.cells = grid.kind;

    // the rows of the picture that count, for the vector code
    std::vector<float> rows;
    for (std::size_t i = 0; i < lab.size(); ++i) {
        if (grid.kind[i] == Cell::judged)
            rows.insert(rows.end(), {static_cast<float>(lab[i][0]), static_cast<float>(lab[i][1]), static_cast<float>(lab[i][2])});
    }
    const std::size_t count = rows.size() / 3;
    std::vector<float> de00(count);
    std::vector<double> within, median, p95;
    for (const Eigen::Vector3d& shift : draws_of(anchor.covariance)) {
        const Lab target{anchor.target.L - shift[0], anchor.target.a - shift[1], anchor.target.b - shift[2], anchor.target.white};
        difference_2000_rows(rows, target, de00);
        if (within.empty()) {
            map.de00.assign(lab.size(), std::numeric_limits<float>::quiet_NaN());
            std::size_t next = 0;
            for (std::size_t i = 0; i < lab.size(); ++i) {
                if (grid.kind[i] == Cell::judged) map.de00[i] = de00[next++];
            }
        }
        const auto accepted = std::count_if(de00.begin(), de00.end(), [&](float v) { return v <= options.tolerance; });
        within.push_back(static_cast<double>(accepted) / static_cast<double>(count));
        const auto rank = [&](double share) {
            const auto at = de00.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(count - 1));
            std::nth_element(de00.begin(), at, de00.end());
            return static_cast<double>(*at);
        };
        median.push_back(rank(0.5));
        p95.push_back(rank(0.95));
    }
    map.within = figure_of(within);
    map.median = figure_of(median);
    map.p95 = figure_of(p95);

    Lab usual{0, 0, 0, anchor.part.white};
    double* const channels[] = {&usual.L, &usual.a, &usual.b};
    for (std::size_t c = 0; c < 3; ++c) {
        std::vector<double> values;
        for (std::size_t i = c; i < rows.size(); i += 3) values.push_back(rows[i]);
        *channels[c] = median_of(std::move(values));
    }
    difference_2000_rows(rows, usual, de00);
    std::vector<double> uneven(de00.begin(), de00.end());
    map.uneven = quantile_of(std::move(uneven), 0.95);
    map.patches = patches_of(grid, lab, usual, std::isfinite(map.noise) ? map.noise : 0);
    map.light_doubt = light_doubt(model, grid.part, anchor.part.L);
    return map;
}

}  // namespace sw
