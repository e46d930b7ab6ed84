#include "photo/statistics.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <optional>
#include <utility>

#include "color/color.hpp"

namespace sw {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr std::size_t kFewestPixels = 16;
constexpr std::size_t kMostSamples = 250'000;       // larger regions: every second, third ... pixel of every second, third ... row
constexpr std::size_t kMostRobust = 8192;           // pixels that fix plane and spread; the figures themselves come from all samples
constexpr double kInner = 14.3;                     // chi-square, 3 degrees of freedom, 99.75 %: pixels that fix plane and spread
constexpr double kInnerShrinks = 0.989;             // spread of a Gaussian cut off there, P(chi2_5 < 14.3) / P(chi2_3 < 14.3)
constexpr double kOuter = 21.1;                     // 99.99 %: beyond it a pixel is dust or glare
const Vector3d kLuminance(0.2126, 0.7152, 0.0722);  // ITU-R BT.709

struct Run {
    int y, begin, end;
};

/// Pixels of the region, thinned by `step` in both directions.
struct Pixels {
    std::vector<Run> runs;
    int step = 1;
    std::size_t all = 0, taken = 0;
    int left = 0, top = 0, right = 0, bottom = 0;  // of the runs; right and bottom one past
};

Pixels pixels_of(const Photo& photo, const Region& region) {
    Pixels result;
    result.left = photo.width;
    result.top = photo.height;
    for_each_run(region, photo.width, photo.height, [&](int y, int begin, int end) {
        result.runs.push_back({y, begin, end});
        result.all += static_cast<std::size_t>(end - begin);
        result.left = std::min(result.left, begin);
        result.right = std::max(result.right, end);
        result.top = std::min(result.top, y);
        result.bottom = y + 1;
    });
    result.step = std::max(1, static_cast<int>(std::ceil(std::sqrt(static_cast<double>(result.all) / static_cast<double>(kMostSamples)))));
    if (result.step > 1) {
        std::erase_if(result.runs, [&](const Run& run) { return (run.y - result.top) % result.step != 0; });
        for (Run& run : result.runs) run.begin += (result.step - (run.begin - result.left) % result.step) % result.step;
    }
    for (const Run& run : result.runs) result.taken += static_cast<std::size_t>(std::max(0, (run.end - run.begin + result.step - 1) / result.step));
    return result;
}

/// Coordinates from -1 to 1 over the region's box.
struct Frame {
    double x0, y0, half_width, half_height;
    explicit Frame(const Pixels& p)
        : x0(0.5 * (p.left + p.right - 1)),
          y0(0.5 * (p.top + p.bottom - 1)),
          half_width(0.5 * (p.right - p.left)),
          half_height(0.5 * (p.bottom - p.top)) {}
    [[nodiscard]] double u(double x) const { return (x - x0) / half_width; }
    [[nodiscard]] double v(double y) const { return (y - y0) / half_height; }
};

/// value = plane * (1, u, v), fitted with weights; slopes are held near 0 where the pixels do not fix them.
template <int Values>
class PlaneFit {
public:
    void add(double weight, double u, double v, const Eigen::Matrix<double, Values, 1>& value) {
        const Vector3d at(1, u, v);
        normal_ += weight * at * at.transpose();
        right_ += weight * at * value.transpose();
    }
    [[nodiscard]] Eigen::Matrix<double, Values, 3> plane() const {
        Matrix3d held = normal_;
        held.diagonal().tail<2>().array() += 1e-6 * normal_(0, 0);
        return held.ldlt().solve(right_).transpose();
    }

private:
    Matrix3d normal_ = Matrix3d::Zero();
    Eigen::Matrix<double, 3, Values> right_ = Eigen::Matrix<double, 3, Values>::Zero();
};

/// One step of the encoding in linear light at each channel's level. The sRGB slope stands for every camera encoding.
Vector3d encoded_step(const Photo& photo, const Vector3d& level) {
    const double steps = std::exp2(std::min(photo.bits, 24)) - 1;
    Vector3d result;
    for (int c = 0; c < 3; ++c) {
        const double encoded = std::clamp(linear_to_srgb(level[c]), 0.0, 1.0);
        const double slope = photo.linear ? 1 : (srgb_to_linear(encoded + 1e-3) - srgb_to_linear(encoded - 1e-3)) / 2e-3;
        result[c] = slope / steps;
    }
    return result;
}

struct Sample {
    double u, v;
    Vector3d rgb;
    Vector3d neighbor;  // to its right, or NaN
};

/// Plane and spread that most pixels agree on.
struct Robust {
    Matrix3d plane = Matrix3d::Zero(), covariance = Matrix3d::Identity();
};

double median(std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

Matrix3d floor_of(const Vector3d& step) { return (0.25 * step.array().square() + 1e-14).matrix().asDiagonal(); }

/// What is needed so that the 95 % ellipsoid of a covariance known from `freedom` degrees of freedom covers 95 %: Hotelling's T2 against
/// chi-square, 3 f / (f - 2) F(0.95; 3, f - 2) / 7.815. The form below is within 2 % of it for f >= 6 (6: 3.80, 13: 1.62, 22: 1.31, 61: 1.10).
double small_sample_inflation(double freedom) { return 1 + 5.5 / (std::max(freedom, 6.0) - 4); }

/// Starts from medians, then alternates: fit a plane to the pixels that agree, measure their spread, choose the pixels again (as the
/// concentration steps of Rousseeuw & Van Driessen 1999, Technometrics 41(3), from memory).
Robust robust_fit(const std::vector<Sample>& samples, const Photo& photo) {
    std::vector<double> values(samples.size());
    Robust fit;
    Vector3d spread;
    const auto take = [&](int c, auto value) {
        for (std::size_t i = 0; i < samples.size(); ++i) values[i] = value(samples[i], c);
        return median(values);
    };
    for (int c = 0; c < 3; ++c) {
        fit.plane(c, 0) = take(c, [](const Sample& s, int k) { return s.rgb[k]; });
        spread[c] = 1.4826 * take(c, [&](const Sample& s, int k) { return std::abs(s.rgb[k] - fit.plane(k, 0)); });
    }
    const Matrix3d least = floor_of(encoded_step(photo, fit.plane.col(0)));
    const double few = small_sample_inflation(static_cast<double>(samples.size()) - 3);
    double limit = 36 * few;  // the first choice is wide: without a plane the gradient looks like spread
    for (int round = 0; round < 7; ++round) {
        if (round > 0) {
            const auto residual = [&](const Sample& s) -> Vector3d { return s.rgb - fit.plane * Vector3d(1, s.u, s.v); };
            if (round < 3) {
                for (int c = 0; c < 3; ++c) spread[c] = 1.4826 * take(c, [&](const Sample& s, int k) { return std::abs(residual(s)[k]); });
            }
            limit = kInner * few;
        }
        if (round < 3) fit.covariance = Matrix3d(spread.array().square().matrix().asDiagonal()) + least;
        const Eigen::LLT<Matrix3d> whiten(fit.covariance);
        PlaneFit<3> next;
        Matrix3d outer = Matrix3d::Zero();
        double kept = 0;
        for (const Sample& s : samples) {
            const Vector3d e = s.rgb - fit.plane * Vector3d(1, s.u, s.v);
            if (whiten.matrixL().solve(e).squaredNorm() > limit) continue;
            next.add(1, s.u, s.v, s.rgb);
            outer += e * e.transpose();
            ++kept;
        }
        if (kept < 4) break;
        fit.plane = next.plane();
        if (round >= 2) fit.covariance = outer / (std::max(1.0, kept - 3) * kInnerShrinks) + least;
    }
    return fit;
}

/// Sums over the kept pixels of one block, and over all its pixels.
struct Block {
    double n = 0, u = 0, v = 0;
    Vector3d e = Vector3d::Zero();  // residuals from the robust plane
    double all = 0;
    Vector3d rgb = Vector3d::Zero();

    void add(const Block& o) {
        n += o.n;
        u += o.u;
        v += o.v;
        e += o.e;
        all += o.all;
        rgb += o.rgb;
    }
};

struct Blocks {
    int columns = 0;
    std::vector<Block> list;

    /// Two by two into one.
    [[nodiscard]] Blocks merged() const {
        Blocks result;
        result.columns = (columns + 1) / 2;
        const int rows = static_cast<int>(list.size()) / std::max(1, columns);
        result.list.resize(static_cast<std::size_t>(result.columns * ((rows + 1) / 2)));
        for (int row = 0; row < rows; ++row) {
            for (int column = 0; column < columns; ++column)
                result.list[static_cast<std::size_t>(row / 2 * result.columns + column / 2)].add(
                    list[static_cast<std::size_t>(row * columns + column)]);
        }
        return result;
    }
};

/// Variance of the mean of all kept pixels as the blocks' means tell it, a plane taken out (a smooth gradient is no noise).
struct BlockVariance {
    Matrix3d covariance = Matrix3d::Zero();
    double freedom = 0;  // degrees of
};

BlockVariance variance_from(const Blocks& blocks) {
    PlaneFit<3> fit;
    double n = 0, squares = 0;
    for (const Block& b : blocks.list) {
        if (b.n == 0) continue;
        fit.add(b.n, b.u / b.n, b.v / b.n, b.e / b.n);
        n += b.n;
        squares += b.n * b.n;
    }
    BlockVariance result;
    if (n == 0) return result;
    const Matrix3d plane = fit.plane();
    for (const Block& b : blocks.list) {
        if (b.n == 0) continue;
        const Vector3d off = b.e - plane * Vector3d(b.n, b.u, b.v);
        result.covariance += off * off.transpose();
    }
    const double effective = n * n / squares;  // equally large blocks
    result.freedom = effective - 3;
    if (result.freedom > 0) result.covariance *= effective / (result.freedom * n * n);
    return result;
}

/// Noise correlated over a distance c makes means of blocks of side b vary too little: by (1 - c / b)^2. Blocks of half the side tell c.
/// ratio: (variance of the mean from whole blocks) / (the same from halves); >= 1 for positive correlation.
double correlation_correction(double ratio) {
    const double q = std::sqrt(std::clamp(ratio, 1.0, 4.0));
    const double t = std::min((q - 1) / (2 * q - 1), 0.4);
    return 1 / ((1 - t) * (1 - t));
}

Matrix3d covariance_of_mean(const Blocks& halves, const Matrix3d& pixel_covariance, double pixels) {
    const Blocks wholes = halves.merged();
    const BlockVariance whole = variance_from(wholes), half = variance_from(halves);
    constexpr double kFewest = 8;
    // Too few blocks: neighbors within 3 x 3 pixels are taken as one (demosaicing and JPEG smear about that far; common practice, no source).
    if (whole.freedom < kFewest) return pixel_covariance * 9 / pixels * small_sample_inflation(pixels - 3);

    // Lightness and the two color directions have their own correlation: JPEG keeps color at half the resolution.
    Matrix3d opponent;
    opponent.row(0) = kLuminance.transpose();
    opponent.row(1) = Eigen::RowVector3d(1, 0, 0) - kLuminance.transpose();
    opponent.row(2) = Eigen::RowVector3d(0, 0, 1) - kLuminance.transpose();
    const Matrix3d from_whole = opponent * whole.covariance * opponent.transpose(), from_half = opponent * half.covariance * opponent.transpose();
    Vector3d correction;
    for (int i = 0; i < 3; ++i) correction[i] = from_half(i, i) > 0 ? std::sqrt(correlation_correction(from_whole(i, i) / from_half(i, i))) : 1;
    const Matrix3d scale = opponent.inverse() * correction.asDiagonal() * opponent;
    return scale * whole.covariance * scale.transpose() * small_sample_inflation(whole.freedom);
}

/// Rounding to the encoding's steps: all pixels err alike where noise is far below a step, independently where it is not. For Gaussian noise of s
/// steps the common error's variance falls as exp(-(2 pi s)^2) (Widrow & Kollar 2008, Quantization Noise, ch. 5, from memory).
Matrix3d quantization(const Vector3d& step, const Matrix3d& pixel_covariance, double pixels) {
    Vector3d variance;
    for (int c = 0; c < 3; ++c) {
        const double noise = std::max(0.0, pixel_covariance(c, c) / (step[c] * step[c]) - 0.25);  // two codes with hardly any noise give up to 1/4
        variance[c] = step[c] * step[c] / 12 * (std::exp(-4 * std::numbers::pi * std::numbers::pi * noise) + 1 / pixels);
    }
    return variance.asDiagonal();
}

/// The smallest matrix that is not below either, axis by axis of the first relative to the second.
Matrix3d at_least(const Matrix3d& covariance, const Matrix3d& least) {
    const Eigen::LLT<Matrix3d> root(least);
    const Matrix3d lower = root.matrixL();
    const Matrix3d inverse = lower.inverse();
    const Eigen::SelfAdjointEigenSolver<Matrix3d> axes(inverse * covariance * inverse.transpose());
    const Matrix3d turned = lower * axes.eigenvectors();
    return turned * axes.eigenvalues().cwiseMax(1.0).asDiagonal() * turned.transpose();
}

/// Two groups along the direction of greatest spread, by two-means.
struct Groups {
    Vector3d axis = Vector3d::Zero();
    double cut = 0, share = 0, separation = 0, distinctness = 0;  // share: of the smaller; distinctness: separation / spread within
};

Groups two_groups(const std::vector<std::pair<double, Vector3d>>& weighted) {
    double n = 0;
    Vector3d mean = Vector3d::Zero();
    for (const auto& [w, value] : weighted) {
        n += w;
        mean += w * value;
    }
    Groups result;
    if (n <= 0) return result;
    mean /= n;
    Matrix3d spread = Matrix3d::Zero();
    for (const auto& [w, value] : weighted) spread += w * (value - mean) * (value - mean).transpose();
    result.axis = Eigen::SelfAdjointEigenSolver<Matrix3d>(spread).eigenvectors().col(2);

    result.cut = result.axis.dot(mean);
    for (int round = 0; round < 20; ++round) {
        std::array<double, 2> count{}, sum{}, squares{};
        for (const auto& [w, value] : weighted) {
            const double at = result.axis.dot(value);
            const std::size_t side = at > result.cut ? 1 : 0;
            count[side] += w;
            sum[side] += w * at;
            squares[side] += w * at * at;
        }
        if (count[0] <= 0 || count[1] <= 0) return Groups{};
        const double low = sum[0] / count[0], high = sum[1] / count[1];
        const double within = std::max(0.0, squares[0] / count[0] - low * low) / 2 + std::max(0.0, squares[1] / count[1] - high * high) / 2;
        result.share = std::min(count[0], count[1]) / n;
        result.separation = high - low;
        result.distinctness = (high - low) / std::sqrt(within + 1e-16);
        const double cut = 0.5 * (low + high);
        if (std::abs(cut - result.cut) <= 1e-9 * std::abs(cut)) break;
        result.cut = cut;
    }
    return result;
}

/// Two-means split a Gaussian at a distinctness of 2.65, an even slope at 3.46, the side of a bowl at 3.8.
bool two_colors(const std::vector<Sample>& samples, const Blocks& blocks, const Vector3d& mean, const Vector3d& step) {
    if (samples.size() < 64) return false;  // too few to tell
    constexpr double kDistinct = 4.5, kShare = 0.15, kVisible = 0.04;
    const auto distinct = [&](const Groups& g) {
        return g.share > kShare && g.distinctness > kDistinct && g.separation > std::max(kVisible * mean.norm(), 4 * step.maxCoeff());
    };
    std::vector<std::pair<double, Vector3d>> values;
    for (const Block& b : blocks.list) {
        if (b.all > 0) values.emplace_back(b.all, b.rgb / b.all);
    }
    if (values.size() >= 16 && distinct(two_groups(values))) return true;

    // Finer patterns, by pixels: neighbors must side with each other more than chance would have it.
    values.clear();
    for (const Sample& s : samples) values.emplace_back(1, s.rgb);
    const Groups groups = two_groups(values);
    if (!distinct(groups)) return false;
    double pairs = 0, parted = 0;
    for (const Sample& s : samples) {
        if (!std::isfinite(s.neighbor[0])) continue;
        ++pairs;
        parted += (groups.axis.dot(s.rgb) > groups.cut) != (groups.axis.dot(s.neighbor) > groups.cut) ? 1 : 0;
    }
    return parted < 0.5 * pairs * 2 * groups.share * (1 - groups.share);
}

/// Relative change of luminance from corner to corner, by a plane through the logarithm of the blocks' luminance.
double gradient_of(const Blocks& blocks, const Matrix3d& plane) {
    PlaneFit<1> fit;
    for (const Block& b : blocks.list) {
        if (b.n == 0) continue;
        const double luminance = kLuminance.dot(plane * Vector3d(1, b.u / b.n, b.v / b.n) + b.e / b.n);
        if (luminance <= 1e-4) return 0;  // black: no meaning
        fit.add(b.n, b.u / b.n, b.v / b.n, Eigen::Matrix<double, 1, 1>(std::log(luminance)));
    }
    const Eigen::RowVector3d slopes = fit.plane();
    return std::expm1(2 * (std::abs(slopes[1]) + std::abs(slopes[2])));
}

std::string percent(double share) { return std::to_string(static_cast<int>(std::lround(100 * share))) + " %"; }

std::vector<std::string> warnings_of(const RegionStatistics& s, const std::string& role) {
    std::vector<std::string> result;
    const auto warn = [&](const std::string& text) { result.push_back(role.empty() ? text : role + ": " + text); };
    if (s.clipped > 0.01)
        warn(percent(s.clipped) + " of its pixels are at the top of the picture's range, so it may be lighter than it reads; expose less");
    if (s.dark > 0.1) warn(percent(s.dark) + " of its pixels are nearly black; expose more or light it better");
    if (s.two_colors) warn("holds two colors; mark only one of them");
    if (s.gradient > 0.2 && !s.two_colors)
        warn("the light changes by " + percent(s.gradient) + " across it; mark a smaller part or light it more evenly");
    if (s.pixels < 400) warn("only " + std::to_string(s.pixels) + " pixels; mark more of it or photograph it from nearer");
    if (s.rejected > 0.2) warn(percent(s.rejected) + " of its pixels were left out as dust or glare; mark a cleaner part");
    return result;
}

std::optional<Error> outside(const Photo& photo, const Region& region, const std::string& place) {
    const Box box = bounds(region);
    std::string reach;
    constexpr double kSlack = 0.5;  // up to half a pixel no center is missed
    const auto check = [&](double by, const char* edge) {
        if (by <= kSlack) return;
        reach +=
            (reach.empty() ? "reaches " : " and ") + std::to_string(std::llround(std::min(std::ceil(by), 1e9))) + " px past the " + edge + " edge";
    };
    check(-box.x, "left");
    check(box.x + box.w - photo.width, "right");
    check(-box.y, "top");
    check(box.y + box.h - photo.height, "bottom");
    if (!std::isfinite(box.x + box.y + box.w + box.h)) reach = "has a figure that is not finite";
    if (reach.empty()) return std::nullopt;
    return Error{Fault::region_outside, photo.path, place,
                 reach + " (picture " + std::to_string(photo.width) + " x " + std::to_string(photo.height) + ")", "move it or make it smaller"};
}

Result<RegionStatistics> statistics_of(const Photo& photo, const Region& region, const std::string& role, std::vector<SpoiledPixel>* spoiled) {
    const std::string place = role + (role.empty() ? "" : " ") + to_text(region);
    if (const auto error = outside(photo, region, place)) return *error;
    const Pixels pixels = pixels_of(photo, region);
    if (pixels.all < kFewestPixels) {
        return Error{Fault::region_too_small, photo.path, place,
                     "holds " + std::to_string(pixels.all) + (pixels.all == 1 ? " pixel" : " pixels") + "; at least 16 are needed",
                     "mark more of it or photograph it from nearer"};
    }

    // First pass: counts, and an even choice of pixels for what needs sorting.
    RegionStatistics result;
    result.pixels = pixels.all;
    const Frame frame(pixels);
    std::vector<Sample> samples;
    samples.reserve(kMostRobust);
    const double every = std::max(1.0, static_cast<double>(pixels.taken) / static_cast<double>(kMostRobust));
    std::size_t index = 0, clipped = 0, dark = 0;
    std::uint32_t random = 1;
    double next = 0;
    for (const Run& run : pixels.runs) {
        for (int x = run.begin; x < run.end; x += pixels.step, ++index) {
            const auto p = photo.pixel(x, run.y);
            clipped += photo.clipped_at(x, run.y) ? 1 : 0;
            dark += std::max({p[0], p[1], p[2]}) < 0.002F ? 1 : 0;
            if (static_cast<double>(index) < next) continue;
            random = random * 1664525U + 1013904223U;  // steps of uneven length: no beat with the rows
            next += every == 1.0 ? 1.0 : every * (0.5 + static_cast<double>(random >> 8) / (1 << 24));
            samples.push_back({frame.u(x), frame.v(run.y), Vector3d(p[0], p[1], p[2]), Vector3d::Constant(std::nan(""))});
            if (x + 1 < run.end) {
                const auto right = photo.pixel(x + 1, run.y);
                samples.back().neighbor = {right[0], right[1], right[2]};
            }
        }
    }
    const auto taken = static_cast<double>(pixels.taken);
    result.clipped = static_cast<double>(clipped) / taken;
    result.dark = static_cast<double>(dark) / taken;
    const Robust robust = robust_fit(samples, photo);

    // Second pass: leave out what is far off, sum the rest by blocks. About 8 x 8 whole blocks, of 8 pixels or more where that leaves 25.
    const double area = static_cast<double>(pixels.all);
    const double side = std::max(std::sqrt(area / 64), std::min(8.0, std::sqrt(area / 25)));
    const int half = std::max(1, static_cast<int>(std::lround(side / 2)));
    Blocks blocks;
    blocks.columns = (pixels.right - pixels.left + half - 1) / half;
    blocks.list.resize(static_cast<std::size_t>(blocks.columns) * static_cast<std::size_t>((pixels.bottom - pixels.top + half - 1) / half));
    const Matrix3d whiten = Eigen::LLT<Matrix3d>(robust.covariance).matrixL().solve(Matrix3d::Identity());
    const double outer_limit = kOuter * small_sample_inflation(static_cast<double>(samples.size()) - 3);
    Block total;
    Matrix3d outer = Matrix3d::Zero();
    double u_all = 0, v_all = 0;
    for (const Run& run : pixels.runs) {
        const double v = frame.v(run.y);
        Block* row = &blocks.list[static_cast<std::size_t>((run.y - pixels.top) / half) * static_cast<std::size_t>(blocks.columns)];
        int column = (run.begin - pixels.left) / half, column_end = pixels.left + (column + 1) * half;
        for (int x = run.begin; x < run.end; x += pixels.step) {
            while (x >= column_end) {
                ++column;
                column_end += half;
            }
            const double u = frame.u(x);
            const auto p = photo.pixel(x, run.y);
            const Vector3d rgb(p[0], p[1], p[2]);
            const Vector3d e = rgb - (robust.plane.col(0) + u * robust.plane.col(1) + v * robust.plane.col(2));
            Block& block = row[column];
            block.all += 1;
            block.rgb += rgb;
            u_all += u;
            v_all += v;
            const double w0 = whiten(0, 0) * e[0], w1 = whiten(1, 0) * e[0] + whiten(1, 1) * e[1],
                         w2 = whiten(2, 0) * e[0] + whiten(2, 1) * e[1] + whiten(2, 2) * e[2];
            const bool out = w0 * w0 + w1 * w1 + w2 * w2 > outer_limit;
            if (spoiled != nullptr) {
                const bool clip = photo.clipped_at(x, run.y);
                if (out || clip) spoiled->push_back({x, run.y, clip});
            }
            if (out) continue;
            block.n += 1;
            block.u += u;
            block.v += v;
            block.e += e;
            outer += e * e.transpose();
        }
    }
    for (const Block& block : blocks.list) total.add(block);
    result.rejected = 1 - total.n / taken;
    const Vector3d offset = total.e / std::max(1.0, total.n);
    // At the center of all pixels, so that glare on one side does not pull the result down the slope.
    result.mean = robust.plane * Vector3d(1, u_all / taken, v_all / taken) + offset;
    result.pixel_covariance = outer / std::max(1.0, total.n - 3) - offset * offset.transpose();

    const Vector3d step = encoded_step(photo, result.mean);
    const Matrix3d least = quantization(step, result.pixel_covariance, taken) + Matrix3d::Identity() * 1e-18;
    result.covariance = at_least(covariance_of_mean(blocks, result.pixel_covariance, total.n), least);
    result.gradient = gradient_of(blocks.merged(), robust.plane);
    result.two_colors = two_colors(samples, blocks, result.mean, step);
    result.warnings = warnings_of(result, role);
    return result;
}

}  // namespace

Result<RegionStatistics> region_statistics(const Photo& photo, const Region& region, const std::string& role) {
    return statistics_of(photo, region, role, nullptr);
}

std::vector<SpoiledPixel> spoiled_pixels(const Photo& photo, const Region& region) {
    std::vector<SpoiledPixel> spoiled;
    if (!statistics_of(photo, region, "", &spoiled)) spoiled.clear();
    return spoiled;
}

}  // namespace sw
