#include "photo/uniform.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace sw {
namespace {

constexpr int kMostCells = 96, kSamplesAlong = 8;  // samples along a cell: large ones are not read pixel by pixel

struct Cells {
    int x0 = 0, y0 = 0, size = 1, columns = 0, rows = 0;
    std::vector<std::array<float, 3>> color;  // cube roots of means; NaN: not wholly inside the region
    [[nodiscard]] std::size_t at(int column, int row) const {
        return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) + static_cast<std::size_t>(column);
    }
};

Cells cells_of(const Photo& photo, const Region& region, const Box& box) {
    Cells cells;
    cells.x0 = std::max(0, static_cast<int>(std::ceil(box.x - 0.5)));
    cells.y0 = std::max(0, static_cast<int>(std::ceil(box.y - 0.5)));
    const int x1 = std::min(photo.width, static_cast<int>(std::floor(box.x + box.w + 0.5))),
              y1 = std::min(photo.height, static_cast<int>(std::floor(box.y + box.h + 0.5)));
    cells.size = std::max(2, (std::max(x1 - cells.x0, y1 - cells.y0) + kMostCells - 1) / kMostCells);
    cells.columns = std::max(0, (x1 - cells.x0) / cells.size);
    cells.rows = std::max(0, (y1 - cells.y0) / cells.size);
    const std::size_t count = static_cast<std::size_t>(cells.columns) * static_cast<std::size_t>(cells.rows);
    const int step = std::max(1, cells.size / kSamplesAlong);
    std::vector<std::array<double, 4>> sums(count);  // three channels, pixels
    for_each_run(region, photo.width, photo.height, [&](int y, int x_begin, int x_end) {
        const int row = (y - cells.y0) / cells.size;
        if (y < cells.y0 || row >= cells.rows || (y - cells.y0) % cells.size % step != 0) return;
        for (int x = std::max(x_begin, cells.x0); x < x_end; ++x) {
            const int column = (x - cells.x0) / cells.size;
            if (column >= cells.columns) break;
            if ((x - cells.x0) % cells.size % step != 0) continue;
            const auto light = photo.pixel(x, y);
            std::array<double, 4>& sum = sums[cells.at(column, row)];
            for (std::size_t c = 0; c < 3; ++c) sum[c] += static_cast<double>(light[c]);
            sum[3] += 1;
        }
    });
    const int along = (cells.size + step - 1) / step;
    const double full = static_cast<double>(along) * along;
    for (const auto& sum : sums) {
        std::array<float, 3> color{};
        for (std::size_t c = 0; c < 3; ++c)
            color[c] = sum[3] < full ? std::numeric_limits<float>::quiet_NaN() : static_cast<float>(std::cbrt(sum[c] / sum[3]));
        cells.color.push_back(color);
    }
    return cells;
}

double middle_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// 1 where a cell has the color that most have.
std::vector<char> alike(const Cells& cells) {
    constexpr double kSigma = 1.4826, kReach = 4;
    constexpr double kLeast = 0.016, kMost = 0.08;  // some 2 and 9 in L*: clean pictures are not cut to nothing, two colors are not one
    std::vector<char> mask(cells.color.size(), 1);
    for (std::size_t c = 0; c < 3; ++c) {
        std::vector<double> values, off;
        for (const auto& color : cells.color) {
            if (std::isfinite(color[c])) values.push_back(static_cast<double>(color[c]));
        }
        if (values.empty()) return std::vector<char>(mask.size(), 0);
        const double center = middle_of(values);
        off.reserve(values.size());
        for (const double value : values) off.push_back(std::abs(value - center));
        const double reach = std::clamp(kReach * kSigma * middle_of(off), kLeast, kMost);
        for (std::size_t i = 0; i < mask.size(); ++i) {
            const double value = static_cast<double>(cells.color[i][c]);
            if (!std::isfinite(value) || std::abs(value - center) > reach) mask[i] = 0;
        }
    }
    return mask;
}

/// Small islands amid what is alike are dust or glints, which reading leaves out by itself.
std::vector<char> without_specks(const Cells& cells, const std::vector<char>& mask) {
    const std::size_t most = std::max<std::size_t>(4, mask.size() / 200);
    std::vector<char> filled = mask, seen(mask.size(), 0);
    std::size_t specks = 0;
    for (std::size_t start = 0; start < mask.size(); ++start) {
        if (mask[start] != 0 || seen[start] != 0) continue;
        std::vector<std::size_t> island{start};
        seen[start] = 1;
        bool at_edge = false;
        for (std::size_t next = 0; next < island.size(); ++next) {
            const int column = static_cast<int>(island[next]) % cells.columns, row = static_cast<int>(island[next]) / cells.columns;
            at_edge = at_edge || column == 0 || row == 0 || column == cells.columns - 1 || row == cells.rows - 1;
            for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
                const int u = column + dx, v = row + dy;
                if (u < 0 || v < 0 || u >= cells.columns || v >= cells.rows) continue;
                const std::size_t beside = cells.at(u, v);
                if (mask[beside] != 0 || seen[beside] != 0) continue;
                seen[beside] = 1;
                island.push_back(beside);
            }
        }
        if (at_edge || island.size() > most) continue;
        specks += island.size();
        for (const std::size_t cell : island) filled[cell] = 1;
    }
    return specks > mask.size() / 33 ? mask : filled;  // so many are a pattern
}

struct CellBlock {
    int column = 0, row = 0, columns = 0, rows = 0;
    [[nodiscard]] int area() const { return columns * rows; }
};

/// Largest rectangle of ones: for each row, heights of the columns of ones that end there, and a stack of rising ones.
CellBlock largest_cell_block(const Cells& cells, const std::vector<char>& mask) {
    CellBlock best;
    std::vector<int> height(static_cast<std::size_t>(cells.columns) + 1, 0);
    for (int row = 0; row < cells.rows; ++row) {
        std::vector<std::pair<int, int>> rising;  // begins at column, height
        for (int column = 0; column <= cells.columns; ++column) {
            int& h = height[static_cast<std::size_t>(column)];
            h = column < cells.columns && mask[cells.at(column, row)] != 0 ? h + 1 : 0;
            int begin = column;
            while (!rising.empty() && rising.back().second >= h) {
                const CellBlock block{rising.back().first, row - rising.back().second + 1, column - rising.back().first, rising.back().second};
                if (block.area() > best.area()) best = block;
                begin = rising.back().first;
                rising.pop_back();
            }
            if (h > 0) rising.emplace_back(begin, h);
        }
    }
    return best;
}

}  // namespace

Result<Box> uniform_part(const Photo& photo, const Region& region, const std::string& role) {
    const std::string place = role + " " + to_text(region);
    const Box box = bounds(region);
    if (!(box.x + box.w > 0) || !(box.y + box.h > 0) || box.x >= photo.width || box.y >= photo.height)
        return Error{Fault::region_outside, photo.path, place, "lies beside the picture", "draw it on the picture"};
    const Cells cells = cells_of(photo, region, box);
    if (cells.columns < 4 || cells.rows < 4)
        return Error{Fault::region_too_small, photo.path, place, "is too small to look for its flat part", "draw a larger one"};
    CellBlock block = largest_cell_block(cells, without_specks(cells, alike(cells)));
    // One cell of margin to whatever ends it; not to the edge of the region itself.
    if (block.columns > 2 && block.column > 0) ++block.column, --block.columns;
    if (block.rows > 2 && block.row > 0) ++block.row, --block.rows;
    if (block.columns > 2 && block.column + block.columns < cells.columns) --block.columns;
    if (block.rows > 2 && block.row + block.rows < cells.rows) --block.rows;
    if (10 * block.area() < cells.columns * cells.rows)
        return Error{Fault::bad_usage, photo.path, place, "has no part of one color that is large enough",
                     "draw the region over the chip or swatch alone"};
    const double size = cells.size;
    return Box{cells.x0 + block.column * size, cells.y0 + block.row * size, block.columns * size, block.rows * size};
}

}  // namespace sw
