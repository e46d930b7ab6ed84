#include "calibrate/flat_field.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <vector>

namespace sw {
namespace {

using Terms = Eigen::Matrix<double, FlatField::kTerms, 1>;

constexpr int kBlocks = 48, kSample = 16;  // blocks a side; at most so many pixels a side are read of each
constexpr double kMostResidual = 0.05, kDarkBoard = 0.01;

Terms terms(double x, double y) {
    Terms t;
    int k = 0;
    double px = 1;
    for (int i = 0; i <= 4; ++i, px *= x) {
        double py = px;
        for (int j = 0; i + j <= 4; ++j, py *= y) t[k++] = py;
    }
    return t;
}

Eigen::Vector2d centered(int width, int height, double x, double y) {
    const double unit = std::max(width, height) / 2.0;
    return {(x - width / 2.0) / unit, (y - height / 2.0) / unit};
}

Error bad_board(const Photo& board, std::string cause, std::string remedy) {
    return {Fault::flat_unusable, board.path, "flat field", std::move(cause), std::move(remedy)};
}

float median(std::vector<float>& v) {
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

}  // namespace

Result<FlatField> flat_field(const Photo& board) {
    struct Block {
        Terms terms;
        Eigen::Vector3d log_light;
    };
    std::vector<Block> blocks;
    std::size_t clipped = 0, looked = 0;
    const int across = std::min(kBlocks, board.width), down = std::min(kBlocks, board.height);
    for (int by = 0; by < down; ++by) {
        for (int bx = 0; bx < across; ++bx) {
            const int x0 = static_cast<int>(static_cast<long>(bx) * board.width / across),
                      x1 = static_cast<int>(static_cast<long>(bx + 1) * board.width / across);
            const int y0 = static_cast<int>(static_cast<long>(by) * board.height / down),
                      y1 = static_cast<int>(static_cast<long>(by + 1) * board.height / down);
            const int step_x = std::max(1, (x1 - x0) / kSample), step_y = std::max(1, (y1 - y0) / kSample);
            std::array<std::vector<float>, 3> seen;
            for (int y = y0; y < y1; y += step_y) {
                for (int x = x0; x < x1; x += step_x) {
                    ++looked;
                    clipped += board.clipped_at(x, y) ? 1 : 0;
                    const auto p = board.pixel(x, y);
                    for (std::size_t c = 0; c < 3; ++c) seen[c].push_back(p[c]);
                }
            }
            Block block;
            for (std::size_t c = 0; c < 3; ++c) block.log_light[static_cast<Eigen::Index>(c)] = std::log(std::max(median(seen[c]), 1e-4F));
            const Eigen::Vector2d at = centered(board.width, board.height, (x0 + x1) / 2.0, (y0 + y1) / 2.0);
            block.terms = terms(at[0], at[1]);
            blocks.push_back(block);
        }
    }
    if (blocks.size() < 4 * FlatField::kTerms) return bad_board(board, "the picture is too small", "use one of the same size as the photo");
    if (100 * clipped > looked) {
        return bad_board(board, "its bright parts are clipped", "photograph the plain board again with less exposure");
    }
    FlatField field;
    field.width = board.width;
    field.height = board.height;
    Eigen::VectorXd weight = Eigen::VectorXd::Ones(static_cast<Eigen::Index>(blocks.size())), off = weight;
    Eigen::Vector3d average = Eigen::Vector3d::Zero();
    for (const Block& b : blocks) average += b.log_light / static_cast<double>(blocks.size());
    if (std::exp(average.maxCoeff()) < kDarkBoard) {
        return bad_board(board, "it is too dark to tell how the light falls", "photograph the plain board again with more exposure");
    }
    Eigen::Matrix<double, FlatField::kTerms, 3> solution;
    for (int round = 0; round < 6; ++round) {
        Eigen::Matrix<double, FlatField::kTerms, FlatField::kTerms> normal = 1e-9 * static_cast<double>(blocks.size()) * decltype(normal)::Identity();
        Eigen::Matrix<double, FlatField::kTerms, 3> right = decltype(right)::Zero();
        for (std::size_t i = 0; i < blocks.size(); ++i) {
            const Block& b = blocks[i];
            normal += weight[static_cast<Eigen::Index>(i)] * b.terms * b.terms.transpose();
            right += weight[static_cast<Eigen::Index>(i)] * b.terms * b.log_light.transpose();
        }
        solution = normal.ldlt().solve(right);
        for (std::size_t i = 0; i < blocks.size(); ++i) {
            off[static_cast<Eigen::Index>(i)] = (blocks[i].log_light - solution.transpose() * blocks[i].terms).norm() / std::sqrt(3.0);
        }
        std::vector<double> sorted(off.begin(), off.end());
        std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
        const double scale = std::max(sorted[sorted.size() / 2] * 1.5, 1e-4);
        weight = (off.array() / (3 * scale)).square().max(1).inverse();
    }
    field.residual = std::sqrt((weight.array() * off.array().square()).sum() / weight.sum());
    if (field.residual > kMostResidual || weight.mean() < 0.7) {
        return bad_board(board, "it is not a plain board: its brightness is no smooth surface",
                         "photograph a plain matt board that fills the picture, in the place of the parts");
    }
    Eigen::Vector3d level = Eigen::Vector3d::Zero();
    for (const Block& b : blocks) level += solution.transpose() * b.terms / static_cast<double>(blocks.size());
    for (int c = 0; c < 3; ++c) {
        field.coefficient[static_cast<std::size_t>(c)] = solution.col(c);
        field.coefficient[static_cast<std::size_t>(c)][0] -= level[c];
    }
    double low = 1e300, high = -1e300, red = -1e300, blue = 1e300;
    for (const Block& b : blocks) {
        const Eigen::Vector3d light = solution.transpose() * b.terms - level;
        low = std::min(low, light[1]);
        high = std::max(high, light[1]);
        red = std::max(red, light[0] - light[2]);
        blue = std::min(blue, light[0] - light[2]);
    }
    field.range = std::exp(high - low) - 1;
    field.tint = std::exp(red - blue) - 1;
    return field;
}

Eigen::Vector3d light_at(const FlatField& field, double x, double y) {
    const Eigen::Vector2d at = centered(field.width, field.height, x, y);
    const Terms t = terms(at[0], at[1]);
    Eigen::Vector3d light;
    for (int c = 0; c < 3; ++c) light[c] = std::exp(field.coefficient[static_cast<std::size_t>(c)].dot(t));
    return light;
}

Result<Photo> flattened(Photo photo, const FlatField& field) {
    if (photo.width != field.width || photo.height != field.height) {
        return Error{Fault::flat_unusable, photo.path, "flat field",
                     "the plain board's picture is " + std::to_string(field.width) + " x " + std::to_string(field.height) + ", this one " +
                         std::to_string(photo.width) + " x " + std::to_string(photo.height),
                     "take both with the same camera settings and do not crop"};
    }
    photo = as_light(std::move(photo));
    // Smooth: worked out on a coarse grid, straight lines between.
    constexpr int kCell = 16;
    const int columns = photo.width / kCell + 2;
    std::vector<Eigen::Vector3f> above(static_cast<std::size_t>(columns)), below(static_cast<std::size_t>(columns));
    const auto row_at = [&](int y, std::vector<Eigen::Vector3f>& row) {
        for (int k = 0; k < columns; ++k) row[static_cast<std::size_t>(k)] = light_at(field, k * kCell + 0.5, y + 0.5).cwiseInverse().cast<float>();
    };
    for (int y0 = 0; y0 < photo.height; y0 += kCell) {
        if (y0 == 0) {
            row_at(0, above);
        } else {
            std::swap(above, below);
        }
        row_at(y0 + kCell, below);
        for (int y = y0; y < std::min(y0 + kCell, photo.height); ++y) {
            const float v = static_cast<float>(y - y0) / kCell;
            float* p = &photo.rgb[3 * static_cast<std::size_t>(y) * static_cast<std::size_t>(photo.width)];
            for (int x = 0; x < photo.width; ++x) {
                const auto k = static_cast<std::size_t>(x / kCell);
                const float u = static_cast<float>(x % kCell) / kCell;
                const Eigen::Vector3f even = (1 - v) * ((1 - u) * above[k] + u * above[k + 1]) + v * ((1 - u) * below[k] + u * below[k + 1]);
                for (int c = 0; c < 3; ++c) *p++ *= even[c];
            }
        }
    }
    photo.evened = true;
    photo.notes.emplace_back("evened by the photo of a plain board");
    return photo;
}

}  // namespace sw
