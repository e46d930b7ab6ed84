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
                    const auto p = photo.pixel(x, y);
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

std::optional<PlainArea> plain_area(const Photo& photo, const Region& region, const std::vector<Region>& others) {
    const Box box = bounds(region);
    const int x0 = std::max(0, static_cast<int>(std::ceil(box.x))), y0 = std::max(0, static_cast<int>(std::ceil(box.y)));
    const int x1 = std::min(photo.width, static_cast<int>(box.x + box.w)), y1 = std::min(photo.height, static_cast<int>(box.y + box.h));
    const int columns = std::min(24, (x1 - x0) / 4), rows = std::min(16, (y1 - y0) / 4);
    if (columns < 2 || rows < 2) return std::nullopt;
    PlainArea area;
    area.region = region;
    std::vector<Eigen::Vector3d> logs;
    std::vector<Eigen::Matrix<double, 6, 1>> terms;
    const double unit = std::max({x1 - x0, y1 - y0, 1}) / 2.0;
    for (int j = 0; j < rows; ++j) {
        for (int i = 0; i < columns; ++i) {
            const int left = x0 + (x1 - x0) * i / columns, right = x0 + (x1 - x0) * (i + 1) / columns;
            const int top = y0 + (y1 - y0) * j / rows, bottom = y0 + (y1 - y0) * (j + 1) / rows;
            const auto inside = [&](int x, int y) { return contains(region, {static_cast<double>(x), static_cast<double>(y)}); };
            if (!inside(left, top) || !inside(right - 1, top) || !inside(left, bottom - 1) || !inside(right - 1, bottom - 1)) continue;
            const bool taken = std::any_of(others.begin(), others.end(), [&](const Region& other) {
                const Box o = bounds(other);
                return left < o.x + o.w && o.x < right && top < o.y + o.h && o.y < bottom;
            });
            if (taken) continue;
            std::vector<Eigen::Vector3d> means;  // of rows
            bool clipped = false;
            for (int y = top; y < bottom; ++y) {
                Eigen::Vector3d sum = Eigen::Vector3d::Zero();
                for (int x = left; x < right; ++x) {
                    const auto p = photo.pixel(x, y);
                    sum += Eigen::Vector3d(p[0], p[1], p[2]);
                    clipped |= photo.clipped_at(x, y);
                }
                means.push_back(sum / (right - left));
            }
            Eigen::Vector3d middle;
            for (int c = 0; c < 3; ++c) {
                const auto at = means.begin() + static_cast<std::ptrdiff_t>(means.size() / 2);
                std::nth_element(means.begin(), at, means.end(), [c](const Eigen::Vector3d& a, const Eigen::Vector3d& b) { return a[c] < b[c]; });
                middle[c] = (*at)[c];
            }
            if (clipped || !(middle.minCoeff() > 0.002)) continue;
            const Point at{(left + right) / 2.0, (top + bottom) / 2.0};
            area.blocks.push_back({at, middle, 1});
            logs.push_back(middle.array().log());
            const double u = (at.x - (x0 + x1) / 2.0) / unit, v = (at.y - (y0 + y1) / 2.0) / unit;
            terms.push_back((Eigen::Matrix<double, 6, 1>() << 1, u, v, u * u, u * v, v * v).finished());
        }
    }
    if (area.blocks.size() < 12) return std::nullopt;
    // Start: what is far from the middle level is a thing that lies on it. Then reweighted least squares.
    const auto median_of = [](std::vector<double> v) {
        const auto at = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
        std::nth_element(v.begin(), at, v.end());
        return *at;
    };
    Eigen::Vector3d level;
    for (int c = 0; c < 3; ++c) {
        std::vector<double> values;
        for (const Eigen::Vector3d& l : logs) values.push_back(l[c]);
        level[c] = median_of(values);
    }
    std::vector<double> weight;
    for (const Eigen::Vector3d& l : logs) weight.push_back((l - level).cwiseAbs().maxCoeff() < 0.6 ? 1 : 0.01);
    for (int round = 0; round < 8; ++round) {
        Eigen::Matrix<double, 6, 6> normal = 1e-6 * Eigen::Matrix<double, 6, 6>::Identity();
        Eigen::Matrix<double, 6, 3> right = Eigen::Matrix<double, 6, 3>::Zero();
        for (std::size_t k = 0; k < logs.size(); ++k) {
            normal += weight[k] * terms[k] * terms[k].transpose();
            right += weight[k] * terms[k] * logs[k].transpose();
        }
        const Eigen::Matrix<double, 6, 3> fit = normal.ldlt().solve(right);
        std::vector<double> off;
        double sum = 0, total = 0;
        for (std::size_t k = 0; k < logs.size(); ++k) {
            const Eigen::Vector3d r = logs[k] - fit.transpose() * terms[k];
            off.push_back(r.norm() / std::sqrt(3.0));
            sum += weight[k] * r.squaredNorm() / 3;
            total += weight[k];
        }
        area.grain = std::sqrt(sum / std::max(total, 1.0));
        const double scale = 1.4826 * median_of(off) + 1e-4;
        for (std::size_t k = 0; k < off.size(); ++k) weight[k] = 1 / (1 + std::pow(off[k] / (2.5 * scale), 4));
    }
    for (std::size_t k = 0; k < weight.size(); ++k) {
        area.blocks[k].weight = weight[k];
        area.kept += weight[k] / static_cast<double>(weight.size());
    }
    return area;
}

}  // namespace sw
