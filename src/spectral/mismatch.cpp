#include "spectral/mismatch.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

namespace sw {
namespace {

// All tolerances are relative: rows are scaled to a sum of absolute values of 1, weights to a largest of 1, variables go from 0 to 1.
constexpr double kExactTo = 1e-9;     // what the answer is held to: reading, and distance from the dual's bound
constexpr double kRounding = 4e-15;   // what readings are known to; on the solid's boundary the value may hang on it by a factor of 1e9
constexpr double kNothing = 1e-14;    // coefficients below count as 0
constexpr double kBetter = 1e-11;     // gain a full step must promise
constexpr double kStill = 1e-11;      // a variable that moves less over a full step does not move
constexpr double kGiveWay = 1e-11;    // how far a variable may overstep for the sake of a larger pivot
constexpr int kDegenerateInRow = 20;  // then Bland's rule, until the value rises again

/// maximize c x with A x = b, 0 <= x <= 1: three rows, N variables, and two artificial variables a row (from N: what is missing; from N + 3: what is
/// too much), of value -1 and without upper bound in phase 1, fixed at 0 thereafter.
/// The primal simplex with upper bounds: three variables are basic, every other is at one of its bounds.
template <int N>
class Program {
public:
    using Vector = Eigen::Matrix<double, N, 1>;

    Program(const Eigen::Matrix<double, 3, N>& rows, const Eigen::Vector3d& b) {
        for (int i = 0; i < 3; ++i) {
            const double sum = rows.row(i).cwiseAbs().sum();
            scale_[i] = sum > 0 ? 1 / sum : 1;
            for (int j = 0; j < N; ++j) {
                const double v = rows(i, j) * scale_[i];
                a_(j, i) = std::abs(v) < kNothing ? 0 : v;
            }
        }
        a_.template block<3, 3>(N, 0).setIdentity();
        a_.template block<3, 3>(N + 3, 0) = -Eigen::Matrix3d::Identity();
        b_ = b.cwiseProduct(scale_);
        miss_ = a_.allFinite() && b_.allFinite() ? start() : INFINITY;
    }

    /// The least sum of what the three readings miss, each relative to its row; infinite where a number is not finite.
    [[nodiscard]] double miss() const { return miss_; }
    /// What the surfaces read that miss least.
    [[nodiscard]] Eigen::Vector3d reading() const { return b_.cwiseQuotient(scale_); }

    [[nodiscard]] std::optional<Vector> maximize(const Vector& weight) {
        const double top = weight.cwiseAbs().maxCoeff();
        if (!std::isfinite(miss_) || !weight.allFinite()) return std::nullopt;
        All c = All::Zero();
        c.template head<N>() = top > 0 ? Vector(weight / top) : weight;
        for (int attempt = 0; attempt < 2; ++attempt) {
            if (optimize(c, Phase::value)) {
                const Vector x = values();
                const bool reads = (a_.template topRows<N>().transpose() * x - b_).cwiseAbs().maxCoeff() <= kExactTo;
                if (reads && bound(c) - c.template head<N>().dot(x) <= kExactTo + kRounding * y_.cwiseAbs().sum()) return x;
            }
            if (!std::isfinite(start())) break;  // once more, from the beginning
        }
        return std::nullopt;
    }

private:
    static constexpr int kAll = N + 6;
    using All = Eigen::Matrix<double, kAll, 1>;
    enum class Phase { reading, value };

    Eigen::Matrix<double, kAll, 3> a_;
    Eigen::Vector3d b_, scale_;
    All side_;  // 1 at 0, -1 at 1: the direction in which a variable can go; 0 where it cannot or is basic
    std::array<int, 3> basis_{};
    Eigen::Vector3d x_, y_, rest_;  // basic values, prices of the rows, b less what the variables at 1 read
    Eigen::Matrix3d inverse_;
    double miss_ = 0;

    [[nodiscard]] int basic(int i) const { return basis_[static_cast<std::size_t>(i)]; }
    [[nodiscard]] Eigen::Vector3d column(int j) const { return a_.row(j).transpose(); }

    /// Phase 1, then b is what can be read. Returns what is missed; infinite where it could not be proved to be the least.
    double start() {
        side_.setOnes();
        for (int i = 0; i < 3; ++i) {
            basis_[static_cast<std::size_t>(i)] = b_[i] < 0 ? N + 3 + i : N + i;
            side_[basic(i)] = 0;
        }
        All c = All::Zero();
        c.template tail<6>().setConstant(-1);
        bool proved = optimize(c, Phase::reading);
        double miss = 0;
        const Eigen::Vector3d asked = b_;
        for (int i = 0; i < 3; ++i) {
            if (basic(i) < N) continue;
            const double left = std::max(0.0, x_[i]);
            miss += left;
            b_ -= left * column(basic(i));
        }
        const double limit = y_.dot(asked) + (-(a_.template topRows<N>() * y_)).cwiseMax(0).sum();
        proved = miss <= kExactTo || (proved && limit + miss <= kExactTo * (1 + miss));
        side_.template tail<6>().setZero();
        return proved ? miss : INFINITY;
    }

    /// The basis' inverse, the basic values and the prices, each with one step of refinement.
    void factorize(const All& c) {
        Eigen::Matrix3d basis;
        Eigen::Vector3d price;
        for (int i = 0; i < 3; ++i) {
            basis.col(i) = column(basic(i));
            price[i] = c[basic(i)];
        }
        inverse_ = basis.inverse();
        x_ = inverse_ * rest_;
        x_ += inverse_ * (rest_ - basis * x_);
        y_ = inverse_.transpose() * price;
        y_ += inverse_.transpose() * (price - basis.transpose() * y_);
    }

    /// Pivots until nothing promises a gain; false when there are too many of them or the basis is worn out.
    bool optimize(const All& c, Phase phase) {
        rest_ = b_;
        for (int j = 0; j < N; ++j) {
            if (side_[j] < 0) rest_ -= column(j);
        }
        int steps = 0, degenerate = 0;
        while (true) {
            factorize(c);
            if (!x_.allFinite() || !y_.allFinite()) return false;
            All gain = (c - a_ * y_).cwiseProduct(side_);
            while (true) {  // without a change of basis the prices stay, and so do the gains
                const bool bland = degenerate >= kDegenerateInRow;
                const int in = bland ? first_gain(gain) : largest_gain(gain);
                if (in < 0) return true;
                if (++steps > 50 * N) return false;
                const Eigen::Vector3d toward = side_[in] * (inverse_ * column(in));  // the basic values fall by this
                double length = in < N ? 1 : INFINITY;
                const int out = leaving(toward, phase, bland, length);
                if (!std::isfinite(length)) return false;
                degenerate = length > kStill ? 0 : degenerate + 1;
                if (out >= 0) {
                    exchange(in, out, toward[out] > 0, phase);
                    break;
                }
                x_ -= toward;
                rest_ -= side_[in] * column(in);
                side_[in] = -side_[in];
                gain[in] = -gain[in];
            }
        }
    }

    [[nodiscard]] static int first_gain(const All& gain) {
        for (int j = 0; j < kAll; ++j) {
            if (gain[j] > kBetter) return j;
        }
        return -1;
    }
    [[nodiscard]] static int largest_gain(const All& gain) {
        int best = -1;
        double most = kBetter;
        for (int j = 0; j < kAll; ++j) {
            if (gain[j] > most) {
                most = gain[j];
                best = j;
            }
        }
        return best;
    }

    /// Which basic variable stops the step, and after which length; -1 where the entering variable comes to its own other bound first.
    int leaving(const Eigen::Vector3d& toward, Phase phase, bool bland, double& length) const {
        Eigen::Vector3d room;
        double limit = length;
        for (int i = 0; i < 3; ++i) {
            const double upper = basic(i) < N ? 1 : phase == Phase::reading ? INFINITY : 0;
            room[i] = std::max(0.0, toward[i] > 0 ? x_[i] : upper - x_[i]);
            if (std::abs(toward[i]) > kStill) limit = std::min(limit, (room[i] + (bland ? 0 : kGiveWay)) / std::abs(toward[i]));
        }
        if (limit >= length) return -1;
        int out = -1;
        for (int i = 0; i < 3; ++i) {
            if (std::abs(toward[i]) <= kStill || room[i] / std::abs(toward[i]) > limit) continue;
            if (out < 0 || (bland ? basic(i) < basic(out) : std::abs(toward[i]) > std::abs(toward[out]))) out = i;
        }
        length = room[out] / std::abs(toward[out]);
        return out;
    }

    void exchange(int in, int out, bool to_zero, Phase phase) {
        const int gone = basic(out);
        side_[gone] = gone < N ? (to_zero ? 1 : -1) : phase == Phase::reading ? 1 : 0;
        if (side_[gone] < 0) rest_ -= column(gone);
        if (side_[in] < 0) rest_ += column(in);
        side_[in] = 0;
        basis_[static_cast<std::size_t>(out)] = in;
    }

    [[nodiscard]] Vector values() const {
        Vector x = (side_.template head<N>().array() < 0).template cast<double>();
        for (int i = 0; i < 3; ++i) {
            if (basic(i) < N) x[basic(i)] = std::clamp(x_[i], 0.0, 1.0);
        }
        return x;
    }

    /// No x can have a higher value, whatever the prices are (weak duality): so no error of the search passes unseen.
    [[nodiscard]] double bound(const All& c) const { return b_.dot(y_) + (c.template head<N>() - a_.template topRows<N>() * y_).cwiseMax(0).sum(); }
};

/// Matrix from a reflectance on the 1 nm grid to XYZ, each relative to the light's white. Where the interpolation of a sharp line dips below 0 there
/// is no light: a surface that could choose those bands alone would have colors that none has.
Eigen::Matrix<double, 3, kBands> relative_sums(const Light& light, Observer observer) {
    const std::array<Bands, 3>& functions = color_matching(observer);
    const Eigen::Map<const Eigen::Matrix<double, 1, kBands>> power(light.power.data());
    Eigen::Matrix<double, 3, kBands> sums;
    for (int row = 0; row < 3; ++row) {
        const Eigen::Map<const Eigen::Matrix<double, 1, kBands>> function(functions[static_cast<std::size_t>(row)].data());
        sums.row(row) = function.cwiseProduct(power.cwiseMax(0));
        sums.row(row) /= sums.row(row).sum();
    }
    return sums;
}

}  // namespace

struct AlikeSurfaces::Inside {
    Program<kModelBands> program;
    Eigen::Vector3d reading;
};

AlikeSurfaces::AlikeSurfaces(const SensorRows& rows, const Eigen::Vector3d& seen)
    : inside_(std::make_unique<Inside>(Inside{Program<kModelBands>(rows, seen), seen})) {
    if (inside_->program.miss() > 0) inside_->reading = inside_->program.reading();
}
AlikeSurfaces::~AlikeSurfaces() = default;
AlikeSurfaces::AlikeSurfaces(AlikeSurfaces&&) noexcept = default;
AlikeSurfaces& AlikeSurfaces::operator=(AlikeSurfaces&&) noexcept = default;

bool AlikeSurfaces::none() const { return !(inside_->program.miss() <= kExactTo); }
const Eigen::Vector3d& AlikeSurfaces::reading() const { return inside_->reading; }
std::optional<ModelSpectrum> AlikeSurfaces::extreme(const ModelSpectrum& weight) { return inside_->program.maximize(weight); }

std::optional<ModelSpectrum> extreme_surface(const SensorRows& rows, const Eigen::Vector3d& seen, const ModelSpectrum& weight) {
    AlikeSurfaces surfaces(rows, seen);
    if (surfaces.none()) return std::nullopt;
    return surfaces.extreme(weight);
}

std::vector<Eigen::Vector3d> sphere_directions(int count) {
    std::vector<Eigen::Vector3d> directions;
    double angle = 0;
    for (int k = 0; k < count; ++k) {
        const double z = -1 + 2.0 * k / (count - 1);
        const double radius = std::sqrt(std::max(0.0, 1 - z * z));
        angle = k == 0 || k == count - 1 ? 0 : angle + 3.6 / (std::sqrt(count) * radius);
        directions.emplace_back(radius * std::cos(angle), radius * std::sin(angle), z);
    }
    return directions;
}

std::vector<Eigen::Vector3d> mismatch_extremes(const SensorRows& rows, const Eigen::Vector3d& seen, const ObserverMatrix& target, int directions) {
    std::vector<Eigen::Vector3d> found;
    AlikeSurfaces surfaces(rows, seen);
    if (surfaces.none()) return found;
    for (const Eigen::Vector3d& direction : sphere_directions(directions)) {
        const std::optional<ModelSpectrum> extreme = surfaces.extreme(target.transpose() * direction);
        if (!extreme) return {};
        found.emplace_back(target * *extreme);
    }
    return found;
}

bool can_be_surface(const Xyz& color, const Light& light, Observer observer) {
    const Xyz white = xyz(light, observer);
    const Program<kBands> program(relative_sums(light, observer), {color.X / white.X, color.Y / white.Y, color.Z / white.Z});
    return program.miss() <= 1e-4;
}

std::vector<Xy> optimal_color_outline(double Y, const Light& light, Observer observer) {
    std::vector<Xy> outline;
    if (!(Y > 0 && Y < 100)) return outline;
    const Xyz white = xyz(light, observer);
    const Eigen::Matrix<double, 3, kBands> sums = Eigen::Vector3d(white.X, white.Y, white.Z).asDiagonal() * relative_sums(light, observer);
    constexpr int bands = static_cast<int>(kBands);
    int last = 0;  // the first band that is not wholly inside
    Eigen::Vector3d color = Eigen::Vector3d::Zero();
    for (int first = 0; first < bands; ++first) {
        while (color[1] + sums(1, last % bands) <= Y && last < first + bands) color += sums.col(last++ % bands);
        const Eigen::Vector3d next = sums.col(last % bands);
        const Eigen::Vector3d at = next[1] > 0 ? Eigen::Vector3d(color + (Y - color[1]) / next[1] * next) : color;
        outline.push_back({at[0] / at.sum(), at[1] / at.sum()});
        if (last > first) {
            color -= sums.col(first);
        } else {
            last = first + 1;
        }
    }
    return outline;
}

}  // namespace sw
