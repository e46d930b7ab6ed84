// What physics allows: the linear programs against an outside solver and closed forms, and what follows from their being convex.
#include "spectral/mismatch.hpp"

#include <glpk.h>

#include <Eigen/LU>

#include <cmath>
#include <ctime>
#include <limits>
#include <numbers>
#include <numeric>

#include "color/light.hpp"
#include "color/reference.hpp"
#include "spectral/random.hpp"
#include "spectral/sensitivity.hpp"
#include "spectral/surfaces.hpp"

namespace sw {
namespace {

#ifdef SW_SLOW_BUILD
constexpr int kStride = 10;
#else
constexpr int kStride = 1;
#endif

struct Question {
    std::string name;
    SensorRows rows = SensorRows::Zero();
    Eigen::Vector3d seen = Eigen::Vector3d::Zero();
    ModelSpectrum weight = ModelSpectrum::Zero();
};

/// The highest value by GLPK's primal simplex in double precision, tolerances 1e-9; nullopt where it finds no feasible point.
std::optional<double> by_glpk(const Question& q) {
    glp_term_out(GLP_OFF);
    glp_prob* problem = glp_create_prob();
    glp_set_obj_dir(problem, GLP_MAX);
    glp_add_rows(problem, 3);
    glp_add_cols(problem, kModelBands);
    std::vector<int> row{0}, column{0};
    std::vector<double> value{0};
    for (int i = 0; i < 3; ++i) {
        glp_set_row_bnds(problem, i + 1, GLP_FX, q.seen[i], q.seen[i]);
        for (int j = 0; j < kModelBands; ++j) {
            if (std::abs(q.rows(i, j)) < 1e-14) continue;
            row.push_back(i + 1);
            column.push_back(j + 1);
            value.push_back(q.rows(i, j));
        }
    }
    for (int j = 0; j < kModelBands; ++j) {
        glp_set_col_bnds(problem, j + 1, GLP_DB, 0, 1);
        glp_set_obj_coef(problem, j + 1, q.weight[j]);
    }
    glp_load_matrix(problem, static_cast<int>(value.size()) - 1, row.data(), column.data(), value.data());
    glp_smcp how;
    glp_init_smcp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.tol_bnd = how.tol_dj = 1e-9;
    const int fault = glp_simplex(problem, &how);
    std::optional<double> best;
    if (fault == 0 && glp_get_status(problem) == GLP_OPT) best = glp_get_obj_val(problem);
    EXPECT_EQ(fault, 0) << q.name;
    EXPECT_TRUE(best || glp_get_status(problem) == GLP_NOFEAS) << q.name << ": status " << glp_get_status(problem);
    glp_delete_prob(problem);
    glp_free_env();
    return best;
}

const SensitivityRows& camera() {
    static const SensitivityRows rows = sensitivity_prior(*light("LED-B3")).mean;
    return rows;
}

ObserverMatrix seen_by(const char* name) { return observer_matrix(*light(name), Observer::degree2); }

/// A camera of three plain bands that do not overlap: 24, 24 and 23 of the model's bands.
SensorRows block_camera() {
    SensorRows rows = SensorRows::Zero();
    rows.row(0).tail(23).setConstant(1.0 / 23);
    rows.row(1).segment(24, 24).setConstant(1.0 / 24);
    rows.row(2).head(24).setConstant(1.0 / 24);
    return rows;
}

template <class Matrix>
Matrix random_matrix(Random& random) {
    Matrix m;
    for (Eigen::Index i = 0; i < m.size(); ++i) m.data()[i] = random.normal();
    return m;
}

/// 0 or 1 with `transitions` changes at random.
ModelSpectrum random_steps(Random& random, int transitions) {
    ModelSpectrum r = ModelSpectrum::Constant(random.below(2));
    for (int t = 0; t < transitions; ++t) {
        const int at = random.below(kModelBands);
        for (int j = at; j < kModelBands; ++j) r[j] = 1 - r[j];
    }
    return r;
}

ModelSpectrum random_values(Random& random) {
    ModelSpectrum r;
    for (double& v : r) v = random.uniform();
    return r;
}

/// Programs of every kind: cameras and made-up rows; readings of the inside, of the boundary and of nothing; weights of an eye, of noise, and ones
/// that tie every choice.
std::vector<Question> questions() {
    Random random(4);
    std::vector<Question> all;
    const std::array<ObserverMatrix, 3> eyes{seen_by("D65"), seen_by("A"), seen_by("F11")};
    for (int round = 0; round < 100; round += kStride) {
        SensorRows smooth = SensorRows::Zero();  // bells whose tails fall to 1e-35 and below
        for (int i = 0; i < 3; ++i) {
            const double middle = random.uniform(5, 66), width = random.uniform(2, 12);
            for (int j = 0; j < kModelBands; ++j) smooth(i, j) = std::exp(-std::pow((j - middle) / width, 2) / 2);
        }
        SensorRows twice = camera();  // the third row repeats the first
        twice.row(2) = twice.row(0);
        SensorRows tied = SensorRows::Zero();  // whole numbers, many alike
        for (Eigen::Index i = 0; i < tied.size(); ++i) tied.data()[i] = random.below(3);
        for (const auto& camera_or_eye : {std::pair<std::string, SensorRows>{"camera", camera()},
                                          {"eye", eyes[static_cast<std::size_t>(round % 3)]},
                                          {"noise", random_matrix<SensorRows>(random)},
                                          {"bells", smooth},
                                          {"twice", twice},
                                          {"tied", tied},
                                          {"blocks", block_camera()}}) {
            const std::string& name = camera_or_eye.first;
            const SensorRows& rows = camera_or_eye.second;
            const auto add = [&](const std::string& what, const Eigen::Vector3d& seen) {
                const int kind = random.below(5);
                Question q{name + ", " + what + ", round " + std::to_string(round), rows, seen, {}};
                if (kind == 0) q.weight = random_matrix<ModelSpectrum>(random);
                if (kind == 1) q.weight = eyes[static_cast<std::size_t>(random.below(3))].transpose() * random_matrix<Eigen::Vector3d>(random);
                if (kind == 2) q.weight = rows.transpose() * random_matrix<Eigen::Vector3d>(random);  // every surface is as good
                if (kind == 3) q.weight = ModelSpectrum::Constant(random.below(3) - 1.0);
                if (kind == 4) q.weight = random_steps(random, 6) - random_steps(random, 6);
                all.push_back(q);
            };
            add("made-up surface", rows * random_values(random));
            add("library surface", rows * surface_library().col(random.below(24000)).cast<double>());
            add("gray", rows * ModelSpectrum::Constant(0.5));
            switch (round % 4) {
                case 0:
                    add("black", Eigen::Vector3d::Zero());
                    break;
                case 1:
                    add("white", rows * ModelSpectrum::Ones());
                    break;
                case 2:
                    add("two steps", rows * random_steps(random, 2));
                    break;
                case 3:
                    add("many steps", rows * random_steps(random, 9));
                    break;
            }
            Eigen::Vector3d beyond = rows * random_values(random);
            beyond += random_matrix<Eigen::Vector3d>(random).normalized().cwiseProduct(rows.cwiseAbs().rowwise().sum()) * random.uniform(0.1, 2);
            add("perhaps beyond", beyond);
        }
    }
    return all;
}

// Source: GLPK 5.0 (Debian libglpk-dev), told to work to 1e-9. 1e-7: its tolerance of 1e-9 a coefficient times 71 variables, rounded up. On the
// boundary of what can be read (black, white, steps) ours may be feasible where GLPK, at its tolerance, finds nothing; and with bells, whose tails
// are fainter than both tolerances, what black leaves free is a matter of tolerance, so that values are not compared.
TEST(ExtremeSurface, AgreesWithAnOutsideSolver) {
    test::Worst value, edge, reading, range;
    int infeasible = 0, more = 0;
    const std::vector<Question> all = questions();
    for (const Question& q : all) {
        const std::optional<double> outside = by_glpk(q);
        const std::optional<ModelSpectrum> ours = extreme_surface(q.rows, q.seen, q.weight);
        const bool boundary =
            q.name.find("steps, ") != std::string::npos || q.name.find("black, ") != std::string::npos || q.name.find("white, ") != std::string::npos;
        const bool faint = q.name.starts_with("bells");
        EXPECT_TRUE(ours.has_value() == outside.has_value() || (ours && boundary)) << q.name << ": seen " << q.seen.transpose();
        infeasible += !ours && !outside;
        if (!ours) continue;
        reading.see((q.rows * *ours - q.seen).cwiseQuotient(q.rows.cwiseAbs().rowwise().sum()).cwiseAbs().maxCoeff(), q.name);
        range.see(std::max(-ours->minCoeff(), ours->maxCoeff() - 1), q.name);
        if (!outside) {
            ++more;
            continue;
        }
        const double top = std::max(1e-300, q.weight.cwiseAbs().maxCoeff());
        if (!(boundary && faint)) (boundary ? edge : value).see(std::abs(q.weight.dot(*ours) - *outside) / top, q.name);
    }
    std::printf("%zu programs, %d of them without a solution; %d on the boundary have one that GLPK did not find\n", all.size(), infeasible, more);
    EXPECT_GT(infeasible, static_cast<int>(all.size()) / 20);
    value.report("value against GLPK, of the largest weight", 1e-7);
    edge.report("the same on the boundary", 1e-7);
    reading.report("reading of the extreme surface, of the row's sum", 1.1e-9);
    range.report("beyond 0..1", 0);
}

// Many questions to the same surfaces begin where the one before ended: they must not depend on it.
TEST(ExtremeSurface, IsTheSameWhateverWasAskedBefore) {
    Random random(8);
    test::Worst worst;
    for (int round = 0; round < 40; round += kStride) {
        const Eigen::Vector3d seen = camera() * (round % 2 == 0 ? random_values(random) : random_steps(random, 3));
        AlikeSurfaces surfaces(camera(), seen);
        ASSERT_FALSE(surfaces.none());
        for (int k = 0; k < 30; ++k) {
            const ModelSpectrum weight =
                k % 3 == 0 ? random_matrix<ModelSpectrum>(random) : ModelSpectrum(seen_by("A").transpose() * random_matrix<Eigen::Vector3d>(random));
            const std::optional<ModelSpectrum> warm = surfaces.extreme(weight), cold = extreme_surface(camera(), seen, weight);
            ASSERT_TRUE(warm && cold) << "round " << round << " question " << k;
            worst.see(std::abs(weight.dot(*warm - *cold)) / weight.cwiseAbs().maxCoeff(), "round " + std::to_string(round));
        }
    }
    worst.report("warm against cold start", 2e-9);  // each within 1e-9 of the bound
}

// With bands that do not overlap, the extreme is known: in each band fill the wavelengths of highest price first, until the reading is reached
// (fractional knapsack, Dantzig 1957).
TEST(MismatchExtremes, ReachTheClosedFormOfABlockCamera) {
    const SensorRows rows = block_camera();
    const ObserverMatrix target = seen_by("D65");
    const std::vector<Eigen::Vector3d> directions = sphere_directions(14);
    test::Worst worst;
    for (const Eigen::Vector3d& seen :
         {Eigen::Vector3d(0.5, 0.5, 0.5), Eigen::Vector3d(0.2, 0.4, 0.7), Eigen::Vector3d(0.8, 0.1, 0.05), Eigen::Vector3d(0.05, 0.06, 0.07)}) {
        const std::vector<Eigen::Vector3d> found = mismatch_extremes(rows, seen, target);
        ASSERT_EQ(found.size(), 14U);
        for (std::size_t k = 0; k < 14; ++k) {
            const ModelSpectrum price = target.transpose() * directions[k];
            double best = 0;
            for (int c = 0; c < 3; ++c) {
                std::vector<double> prices;
                for (int i = 0; i < kModelBands; ++i) {
                    if (rows(c, i) > 0) prices.push_back(price[i]);
                }
                std::sort(prices.rbegin(), prices.rend());
                double left = seen[c] * static_cast<double>(prices.size());
                for (double p : prices) {
                    const double part = std::min(1.0, left);
                    best += part * p;
                    left -= part;
                    if (left <= 0) break;
                }
            }
            worst.see(std::abs(best - directions[k].dot(found[k])), "direction " + std::to_string(k));
        }
    }
    worst.report("extremes of a block camera, against the closed form", 1e-9);
}

// Looked at by the camera itself, every extreme is the reading.
TEST(MismatchExtremes, ReadLikeTheReading) {
    test::Worst worst;
    for (int i = 5; i < 24000; i += 1999) {
        const Eigen::Vector3d seen = camera() * surface_library().col(i).cast<double>();
        const std::vector<Eigen::Vector3d> found = mismatch_extremes(camera(), seen, camera());
        EXPECT_EQ(found.size(), 14U);
        for (const Eigen::Vector3d& v : found) worst.see((v - seen).cwiseAbs().maxCoeff(), "surface " + std::to_string(i));
    }
    worst.report("extremes seen by the camera itself", 2e-9);
}

// A surface that exists reads like the reading, so it lies within what physics allows in every direction; and no extreme passes that of another's
// direction.
TEST(MismatchExtremes, HoldTheSurfaceThatWasRead) {
    for (const char* name : {"D65", "A", "LED-B1"}) {
        const ObserverMatrix target = seen_by(name);
        const std::vector<Eigen::Vector3d> directions = sphere_directions(50);
        test::Worst worst, order;
        for (int i = 5; i < 24000; i += 499 * kStride) {
            const ModelSpectrum r = surface_library().col(i).cast<double>();
            const std::vector<Eigen::Vector3d> found = mismatch_extremes(camera(), camera() * r, target, 50);
            ASSERT_EQ(found.size(), 50U) << "surface " << i;
            for (std::size_t k = 0; k < 50; ++k) {
                worst.see(directions[k].dot(target * r - found[k]), "surface " + std::to_string(i));
                for (const Eigen::Vector3d& other : found) order.see(directions[k].dot(other - found[k]), "surface " + std::to_string(i));
            }
        }
        worst.report(std::string("surface beyond the extremes, ") + name, 3e-9);
        order.report(std::string("an extreme beyond that of its direction, ") + name, 3e-9);
    }
}

// Two made-up surfaces of the library that read nearly alike: each lies in the other's body when the difference in reading is allowed for. Here with
// pairs made exactly alike: a surface plus what the camera cannot see (a metameric black, Wyszecki 1953).
TEST(MismatchExtremes, HoldEveryMadeUpMetamer) {
    Random random(5);
    const ObserverMatrix target = seen_by("D65");
    const std::vector<Eigen::Vector3d> directions = sphere_directions(50);
    const Eigen::Matrix3d gram = camera() * camera().transpose();
    test::Worst worst;
    double moved = 0;
    for (int i = 5; i < 24000; i += 999 * kStride) {
        const ModelSpectrum r = surface_library().col(i).cast<double>();
        const std::vector<Eigen::Vector3d> found = mismatch_extremes(camera(), camera() * r, target, 50);
        ASSERT_EQ(found.size(), 50U);
        for (int k = 0; k < 20; ++k) {
            ModelSpectrum black = target.transpose() * random_matrix<Eigen::Vector3d>(random);
            black -= camera().transpose() * gram.inverse() * (camera() * black);
            double room = INFINITY;
            for (int j = 0; j < kModelBands; ++j) room = std::min(room, (black[j] > 0 ? 1 - r[j] : r[j]) / std::max(1e-12, std::abs(black[j])));
            const Eigen::Vector3d color = target * (r + room * black);
            moved = std::max(moved, (color - target * r).norm());
            for (std::size_t d = 0; d < 50; ++d) worst.see(directions[d].dot(color - found[d]), "surface " + std::to_string(i));
        }
    }
    EXPECT_GT(moved, 0.02);
    worst.report("metamer beyond the extremes", 3e-9);
}

// The width of the body is concave in the reading (value of a linear program in its right side) and the same for a reading and what it lacks to
// white (R and 1 - R), so it grows from black to the middle gray: in every direction, not only in volume.
TEST(MismatchExtremes, SpreadFromAPointAtBlackAndWhiteToTheMiddleGray) {
    const ObserverMatrix first = seen_by("D50");  // an eye, not the camera: that is blind at both ends, so black to it need not be black
    const Eigen::Vector3d white = first * ModelSpectrum::Ones();
    for (const char* name : {"D65", "A"}) {
        const ObserverMatrix target = seen_by(name);
        const std::vector<Eigen::Vector3d> directions = sphere_directions(50);
        const auto widths = [&](double level) {
            const std::vector<Eigen::Vector3d> found = mismatch_extremes(first, level * white, target, 50);
            EXPECT_EQ(found.size(), 50U) << level;
            Eigen::VectorXd width(50);
            for (std::size_t k = 0; k < found.size(); ++k) {
                double low = INFINITY;
                for (const Eigen::Vector3d& v : found) low = std::min(low, directions[k].dot(v));
                width[static_cast<Eigen::Index>(k)] = directions[k].dot(found[k] - level * target * ModelSpectrum::Ones());
            }
            return width;
        };
        EXPECT_LE(widths(0).cwiseAbs().maxCoeff(), 3e-9) << "black " << name;
        EXPECT_LE(widths(1).cwiseAbs().maxCoeff(), 3e-9) << "white " << name;
        Eigen::VectorXd before = widths(0), slope = Eigen::VectorXd::Constant(50, INFINITY);
        std::printf("%-4s mean reach of the body about a gray of", name);
        for (double level : {0.1, 0.2, 0.3, 0.4, 0.5}) {
            const Eigen::VectorXd now = widths(level);
            EXPECT_GT(now.minCoeff(), 0) << level;
            EXPECT_LE((now - before - slope).maxCoeff(), 1e-8) << "concave, " << level;
            slope = now - before;
            before = now;
            std::printf("  %.1f: %.4f", level, now.mean());
            // A gray and what it lacks to white: the body turned about.
            const std::vector<Eigen::Vector3d> one = mismatch_extremes(first, level * white, target, 50);
            AlikeSurfaces other(first, (1 - level) * white);
            for (std::size_t k = 0; k < 50; ++k) {
                const Eigen::Vector3d back = target * *other.extreme(-target.transpose() * directions[k]);
                EXPECT_NEAR(directions[k].dot(one[k]), directions[k].dot(target * ModelSpectrum::Ones() - back), 3e-9);
            }
        }
        std::printf("\n");
    }
}

// No reflectance of 0..1 reads above the diffuser, below nothing, or bright in one channel and black in its neighbors.
TEST(MismatchExtremes, AreEmptyWhereNoSurfaceCanReadLikeThat) {
    const ObserverMatrix target = seen_by("D65");
    for (const Eigen::Vector3d& seen : {Eigen::Vector3d(1.2, 1.2, 1.2), Eigen::Vector3d(-0.2, -0.2, -0.2), Eigen::Vector3d(0.5, 1.3, 0.5)}) {
        EXPECT_TRUE(mismatch_extremes(block_camera(), seen, target).empty()) << seen.transpose();
        EXPECT_FALSE(extreme_surface(block_camera(), seen, target.row(1))) << seen.transpose();
    }
    EXPECT_TRUE(mismatch_extremes(camera(), {1.3, 1.3, 1.3}, target).empty());
    EXPECT_TRUE(mismatch_extremes(camera(), {-3, 3, -3}, target).empty());
    EXPECT_TRUE(mismatch_extremes(SensorRows::Zero(), {0, 0, 0.1}, target).empty());
    EXPECT_EQ(mismatch_extremes(SensorRows::Zero(), {0, 0, 0}, target).size(), 14U);  // nothing asked: the optimal-color solid itself
    for (const double odd : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(), 1e300, -1e300}) {
        EXPECT_TRUE(mismatch_extremes(camera(), {odd, 0.5, 0.5}, target).empty());
        EXPECT_TRUE(mismatch_extremes(camera(), {odd, odd, odd}, target).empty());
        EXPECT_FALSE(can_be_surface({50, odd, 50}, *light("D65"), Observer::degree2));
    }
    EXPECT_FALSE(extreme_surface(camera(), {0.5, 0.5, 0.5}, ModelSpectrum::Constant(std::numeric_limits<double>::quiet_NaN())));
}

// The nearest reading of a block camera is known: each channel held to 0..1.
TEST(AlikeSurfaces, FallBackToTheNearestReading) {
    AlikeSurfaces surfaces(block_camera(), {1.2, 0.4, -0.1});
    EXPECT_TRUE(surfaces.none());
    EXPECT_LE((surfaces.reading() - Eigen::Vector3d(1, 0.4, 0)).norm(), 1e-12);
    const std::optional<ModelSpectrum> r = surfaces.extreme(seen_by("D65").row(1));
    ASSERT_TRUE(r);
    EXPECT_LE((block_camera() * *r - Eigen::Vector3d(1, 0.4, 0)).norm(), 1e-8);
}

TEST(MismatchExtremes, AreTheSameEachTime) {
    EXPECT_EQ(mismatch_extremes(camera(), {0.3, 0.4, 0.2}, seen_by("A")), mismatch_extremes(camera(), {0.3, 0.4, 0.2}, seen_by("A")));
}

TEST(SphereDirections, AreEvenAndNeighborsInARow) {
    for (int count : {14, 50, 98, 400}) {
        const std::vector<Eigen::Vector3d> directions = sphere_directions(count);
        ASSERT_EQ(directions.size(), static_cast<std::size_t>(count));
        Eigen::Vector3d sum = Eigen::Vector3d::Zero();
        const double spacing = std::sqrt(4 * std::numbers::pi / count);  // of a square of the sphere's share
        double nearest = 2, jump = 0;
        for (std::size_t i = 0; i < directions.size(); ++i) {
            EXPECT_NEAR(directions[i].norm(), 1, 1e-12);
            sum += directions[i];
            for (std::size_t j = 0; j < i; ++j) nearest = std::min(nearest, (directions[i] - directions[j]).norm());
            if (i > 0) jump = std::max(jump, (directions[i] - directions[i - 1]).norm());
        }
        std::printf("%3d directions: nearest two %.2f, longest step %.2f of the even spacing\n", count, nearest / spacing, jump / spacing);
        EXPECT_LE(sum.norm() / count, 0.05);
        EXPECT_GE(nearest / spacing, 0.5);  // a square lattice would have 1; the spiral's first turn about a pole is narrower
        EXPECT_LE(jump / spacing, 1.5);
    }
}

TEST(MismatchExtremes, TimeAVertex) {
    const ObserverMatrix target = seen_by("D65");
    const auto time = [&](int directions) {
        std::vector<Eigen::Vector3d> readings;
        for (int i = 5; i < 24000; i += 499 * kStride) readings.emplace_back(camera() * surface_library().col(i).cast<double>());
        std::size_t vertices = 0;
        const std::clock_t begin = std::clock();  // of the processor, whatever else the machine does
        for (const Eigen::Vector3d& seen : readings) vertices += mismatch_extremes(camera(), seen, target, directions).size();
        return 1e6 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC / static_cast<double>(vertices);
    };
    EXPECT_GT(time(400), 0);  // also warms up
    std::printf("microseconds a vertex, goal 10: %.2f with 2 directions, %.2f with 14, %.2f with 98, %.2f with 400\n", time(2), time(14), time(98),
                time(400));
}

/// The reflectance 1 from `first` up to, not including, `last` of the 1 nm grid, 0 elsewhere; round over the ends where last < first.
Reflectance step(std::size_t first, std::size_t last) {
    Reflectance r;
    for (std::size_t i = 0; i < kBands; ++i) r.value[i] = first <= last ? (i >= first && i < last) : (i >= first || i < last);
    return r;
}

// Schroedinger 1920, MacAdam 1935: the lightest surface of a chromaticity has reflectances of 0 and 1 with two transitions at most (round over the
// ends), where the spectrum locus is strictly convex. That of the printed tables is so to their last digits only, so here the sensors are bells of
// one width (a Chebyshev system). On a grid each transition may fall within one band. The tables' own are held to two transitions by their outline.
TEST(OptimalColors, HaveAtMostTwoTransitions) {
    Random random(6);
    int found = 0;
    for (int round = 0; round < 600; round += kStride) {
        SensorRows bells;
        for (int i = 0; i < 3; ++i) {
            for (int j = 0; j < kModelBands; ++j) bells(i, j) = std::exp(-std::pow((j - 15 - 20 * i) / 14.0, 2) / 2);
        }
        const Eigen::Vector3d color = bells * random_values(random).cwiseProduct(random_values(random)).cwiseProduct(random_steps(random, 2));
        if (color.minCoeff() < 1e-2) continue;
        SensorRows rows = SensorRows::Zero();  // the ratios to the middle sensor as the color's
        rows.row(0) = bells.row(0) - color[0] / color[1] * bells.row(1);
        rows.row(1) = bells.row(2) - color[2] / color[1] * bells.row(1);
        const std::optional<ModelSpectrum> r = extreme_surface(rows, Eigen::Vector3d::Zero(), bells.row(1));
        ASSERT_TRUE(r);
        int between = 0, changes = 0;
        for (int j = 0; j < kModelBands; ++j) {
            changes += ((*r)[j] > 0.5) != ((*r)[(j + 1) % kModelBands] > 0.5);
            between += (*r)[j] > 1e-7 && (*r)[j] < 1 - 1e-7;
        }
        EXPECT_LE(between, 2) << "round " << round;
        EXPECT_LE(changes, 2) << "round " << round;
        EXPECT_GE(bells.row(1).dot(*r), color[1] - 1e-7);  // at least as light as the surface it was made from
        ++found;
    }
    EXPECT_GT(found, 300 / kStride);
}

// Colors with two transitions lie on the boundary: a little nearer to the middle gray is inside, a little farther is outside. The rounding allowed is
// 1e-4; the step of 0.1 % of the way from the middle is more than that wherever the color is not close to black or white.
TEST(OptimalColors, AreTheBoundaryOfWhatASurfaceCanBe) {
    Random random(7);
    for (const char* name : {"D65", "A", "F4", "LED-B1"}) {
        Light lit = *light(name);
        for (double& p : lit.power) p = std::max(0.0, p);  // as can_be_surface takes it: F4 dips below 0 beside its lines
        for (const Observer observer : {Observer::degree2, Observer::degree10}) {
            const Xyz white = xyz(lit, observer);
            EXPECT_TRUE(can_be_surface(white, lit, observer)) << name;
            EXPECT_TRUE(can_be_surface({0, 0, 0}, lit, observer)) << name;
            EXPECT_FALSE(can_be_surface({1.001 * white.X, 1.001 * white.Y, 1.001 * white.Z}, lit, observer)) << name;
            EXPECT_FALSE(can_be_surface({0, 0.1, 0}, lit, observer)) << name;
            EXPECT_FALSE(can_be_surface({-0.1, -0.1, -0.1}, lit, observer)) << name;
            for (int round = 0; round < 60; round += kStride) {
                const Xyz c =
                    xyz(step(40 + static_cast<std::size_t>(random.below(300)), 40 + static_cast<std::size_t>(random.below(300))), lit, observer);
                const auto away = [&](double k) {
                    return Xyz{white.X / 2 + k * (c.X - white.X / 2), 50 + k * (c.Y - 50), white.Z / 2 + k * (c.Z - white.Z / 2)};
                };
                EXPECT_TRUE(can_be_surface(c, lit, observer)) << name << " round " << round;
                EXPECT_TRUE(can_be_surface(away(0.999), lit, observer)) << name << " round " << round;
                EXPECT_FALSE(can_be_surface(away(1.003), lit, observer)) << name << " round " << round << ": " << c.X << ' ' << c.Y << ' ' << c.Z;
            }
        }
    }
}

TEST(OptimalColors, HoldEverySurfaceOfTheLibraryAndTheChart) {
    const Light lit = *light("D65");
    const ObserverMatrix target = seen_by("D65");
    for (int i = 0; i < 24000; i += 997 * kStride) {
        const Eigen::Vector3d v = 100 * target * surface_library().col(i).cast<double>();
        EXPECT_TRUE(can_be_surface({v[0], v[1], v[2]}, lit, Observer::degree2)) << i;
    }
    EXPECT_FALSE(can_be_surface({0, 0.1, 0}, *light("F4"), Observer::degree2));  // no surface can pick the dips beside its lines
    // Primaries of ITU-R BT.2020 (monochromatic by its definition) at the luminance they have in its white, from memory of the standard: no surface
    // is so light and so pure. Those of sRGB are printed only: nothing outside was found to hold them to.
    EXPECT_FALSE(can_be_surface({63.70, 26.27, 0.0}, lit, Observer::degree2));
    EXPECT_FALSE(can_be_surface({14.46, 67.80, 2.81}, lit, Observer::degree2));
    EXPECT_FALSE(can_be_surface({16.89, 5.93, 106.10}, lit, Observer::degree2));
    std::printf("sRGB red, green, blue at full can be surfaces: %d %d %d\n", can_be_surface({41.24, 21.26, 1.93}, lit, Observer::degree2),
                can_be_surface({35.76, 71.52, 11.92}, lit, Observer::degree2), can_be_surface({18.05, 7.22, 95.05}, lit, Observer::degree2));
}

// The outline is made without a linear program: points of it are surfaces, and points 1 % farther from the white are not.
TEST(OptimalColors, HaveAnOutlineAtEachLightness) {
    for (const char* name : {"C", "D65", "A"}) {
        const Light lit = *light(name);
        const Xyz white = xyz(lit, Observer::degree2);
        const double sum = white.X + white.Y + white.Z;
        for (double Y : {5.0, 20.0, 50.0, 80.0, 95.0}) {
            const std::vector<Xy> outline = optimal_color_outline(Y, lit, Observer::degree2);
            ASSERT_EQ(outline.size(), kBands);
            for (std::size_t i = 0; i < outline.size(); i += 10 * kStride) {
                const auto color = [&](double k) {
                    const double x = white.X / sum + k * (outline[i].x - white.X / sum), y = white.Y / sum + k * (outline[i].y - white.Y / sum);
                    return Xyz{Y * x / y, Y, Y * (1 - x - y) / y};
                };
                EXPECT_TRUE(can_be_surface(color(1), lit, Observer::degree2)) << name << " Y " << Y << " from " << kFirstNm + static_cast<int>(i);
                EXPECT_FALSE(can_be_surface(color(1.01), lit, Observer::degree2)) << name << " Y " << Y << " from " << kFirstNm + static_cast<int>(i);
            }
        }
        for (double Y : {0.0, 100.0, -1.0, std::numeric_limits<double>::quiet_NaN()})
            EXPECT_TRUE(optimal_color_outline(Y, lit, Observer::degree2).empty());
    }
}

// The solid's volume in CIELAB under D65, 2 degrees: Linhares, Pinto & Nascimento 2008, J. Opt. Soc. Am. A 25(12), counted 2.29 million unit cubes
// (from memory, not looked up; 2 %: their grid of wavelengths is coarser).
TEST(OptimalColors, FillTheKnownVolume) {
    const Light lit = *light("D65");
    const Xyz white = xyz(lit, Observer::degree2);
    double volume = 0;
    for (double L = 0.5; L < 100; L += 1) {
        const double f = (L + 16) / 116, Y = 100 * (L > 8 ? f * f * f : L / 903.2962962962963);
        double area = 0;
        Lab last;
        bool first = true;
        std::vector<Xy> outline = optimal_color_outline(Y, lit, Observer::degree2);
        outline.push_back(outline.front());
        for (const Xy& p : outline) {
            const Lab at = lab(Xyz{Y * p.x / p.y, Y, Y * (1 - p.x - p.y) / p.y}, white);
            if (!first) area += (last.a * at.b - at.a * last.b) / 2;
            last = at;
            first = false;
        }
        volume += std::abs(area);
    }
    std::printf("volume of the optimal-color solid in CIELAB, D65, 2 degrees: %.3f million (from memory: 2.29)\n", volume / 1e6);
    EXPECT_NEAR(volume / 1e6, 2.29, 0.05);
}

}  // namespace
}  // namespace sw
