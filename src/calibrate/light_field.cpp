#include "calibrate/light_field.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <vector>

namespace sw {

std::optional<LightSlope> light_slope(const Photo& photo, const Region& region) {
    const Box box = bounds(region);
    const int x0 = std::max(0, static_cast<int>(std::ceil(box.x))), y0 = std::max(0, static_cast<int>(std::ceil(box.y)));
    const int x1 = std::min(photo.width, static_cast<int>(box.x + box.w)), y1 = std::min(photo.height, static_cast<int>(box.y + box.h));
    const int columns = std::min(8, (x1 - x0) / 4), rows = std::min(8, (y1 - y0) / 4);
    if (columns < 3 || rows < 3) return std::nullopt;
    struct Block {
        double x, y, log_level;
    };
    std::vector<Block> blocks;
    for (int j = 0; j < rows; ++j) {
        for (int i = 0; i < columns; ++i) {
            const int left = x0 + (x1 - x0) * i / columns, right = x0 + (x1 - x0) * (i + 1) / columns;
            const int top = y0 + (y1 - y0) * j / rows, bottom = y0 + (y1 - y0) * (j + 1) / rows;
            const auto inside = [&](int x, int y) { return contains(region, {static_cast<double>(x), static_cast<double>(y)}); };
            if (!inside(left, top) || !inside(right, top) || !inside(left, bottom) || !inside(right, bottom)) continue;
            std::vector<double> means;  // of rows; their median forgives a speck
            for (int y = top; y < bottom; ++y) {
                double sum = 0;
                for (int x = left; x < right; ++x) {
                    const float* p = photo.pixel(x, y);
                    sum += 0.2126 * static_cast<double>(p[0]) + 0.7152 * static_cast<double>(p[1]) + 0.0722 * static_cast<double>(p[2]);
                }
                means.push_back(sum / (right - left));
            }
            std::nth_element(means.begin(), means.begin() + static_cast<std::ptrdiff_t>(means.size() / 2), means.end());
            const double level = means[means.size() / 2];
            if (level < 0.004) return std::nullopt;
            blocks.push_back({(left + right) / 2.0, (top + bottom) / 2.0, std::log(level)});
        }
    }
    if (blocks.size() < 9) return std::nullopt;
    LightSlope result;
    result.at = {box.x + box.w / 2, box.y + box.h / 2};
    std::vector<double> weight(blocks.size(), 1);
    for (int round = 0; round < 4; ++round) {  // reweighted: dust and glare pull less
        Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
        Eigen::Vector3d right = Eigen::Vector3d::Zero();
        for (std::size_t k = 0; k < blocks.size(); ++k) {
            const Eigen::Vector3d f(1, blocks[k].x - result.at.x, blocks[k].y - result.at.y);
            normal += weight[k] * f * f.transpose();
            right += weight[k] * blocks[k].log_level * f;
        }
        const Eigen::Matrix3d inverse = normal.inverse();
        const Eigen::Vector3d fit = inverse * right;
        std::vector<double> off;
        double sum = 0, total = 0;
        for (std::size_t k = 0; k < blocks.size(); ++k) {
            const double r = blocks[k].log_level - fit[0] - fit[1] * (blocks[k].x - result.at.x) - fit[2] * (blocks[k].y - result.at.y);
            off.push_back(std::abs(r));
            sum += weight[k] * r * r;
            total += weight[k];
        }
        const double variance = sum / std::max(total - 3, 1.0) + 1e-8;
        result.slope = fit.tail<2>();
        result.covariance = variance * inverse.bottomRightCorner<2, 2>();
        result.level = std::exp(fit[0]);
        std::vector<double> sorted = off;
        std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
        const double scale = 1.4826 * sorted[sorted.size() / 2] + 1e-5;
        for (std::size_t k = 0; k < off.size(); ++k) weight[k] = 1 / (1 + std::pow(off[k] / (3 * scale), 2));
    }
    return result;
}

}  // namespace sw
