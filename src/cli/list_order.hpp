// In which order a list stands, and which of it is told: the same for targets, readings and parts.
#pragma once

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>
#include <vector>

#include "cli/book_requests.hpp"
#include "color/difference.hpp"
#include "workbook/nearest.hpp"

namespace sw {

/// A color as it is known: in the workbook's figures.
struct KnownColor {
    Lab lab;
    Eigen::Matrix3d covariance;
};

/// items: by name. color_of: a std::optional<KnownColor>, nothing where the item has none; name_of: as it is sorted. With a color asked for, what has
/// none is left out; else it stands at the end of a list by color.
template <class T, class ColorOf, class NameOf>
std::vector<Hit<T>> arranged(std::vector<T> items, const ListRequest& how, const ColorOf& color_of, const NameOf& name_of) {
    struct Line {
        Hit<T> hit;
        std::tuple<bool, double, double> color;  // has none, L*, hue
    };
    std::vector<Line> lines;
    for (T& item : items) {
        if (item.created < how.since) continue;
        const std::optional<KnownColor> known = color_of(item);
        if (how.near && !known) continue;
        const Lab lab = known ? under_d50(known->lab) : Lab{};
        std::optional<Distance> distance;
        if (how.near) {
            const double de00 = difference_2000(*how.near, lab);
            if (de00 > how.within) continue;
            distance = Distance{de00, difference_sd(*how.near, lab, known->covariance)};
        }
        lines.push_back({{std::move(item), distance}, {!known, lab.L, std::atan2(lab.b, lab.a)}});
    }
    const auto sort = [&](const auto& before) { std::stable_sort(lines.begin(), lines.end(), before); };
    if (how.order == ListOrder::name) sort([&](const Line& a, const Line& b) { return name_of(a.hit.item) < name_of(b.hit.item); });
    if (how.order == ListOrder::date) sort([](const Line& a, const Line& b) { return a.hit.item.created > b.hit.item.created; });
    if (how.order == ListOrder::lab) sort([](const Line& a, const Line& b) { return a.color < b.color; });
    if (how.order == ListOrder::near) sort([](const Line& a, const Line& b) { return a.hit.distance->de00 < b.hit.distance->de00; });
    std::vector<Hit<T>> hits;
    hits.reserve(lines.size());
    for (Line& line : lines) hits.push_back(std::move(line.hit));
    return hits;
}

}  // namespace sw
