// A plot on one page: lines, a shaded band, figures and color swatches beside it, as PNG or PDF. Plain data in, a file out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "color/color.hpp"
#include "color/result.hpp"

namespace sw {

/// A line through points, x rising. Points that are not finite break it. Lines are told apart by their dash pattern (solid, dashed, dotted, ...
/// in their order, eight in all), never by color alone.
struct PlotLine {
    std::string name;  // in the legend; empty: none
    std::vector<double> x, y;
};

/// What lies between low and high is shaded: a range of uncertainty.
struct PlotBand {
    std::string name;
    std::vector<double> x, low, high;
};

/// What an axis shows. Without low or high: the least and the largest of what is drawn.
struct PlotAxis {
    std::string quantity, unit;  // "wavelength", "nm"
    std::optional<double> low, high;
};

/// One row of the table beside the plot. A row without a value is a heading.
struct PlotFigure {
    std::string name, value;
};

/// A color shown large beside the plot.
struct PlotSwatch {
    EncodedRgb color;
    std::string caption;
};

struct Plot {
    std::string title, subtitle;
    PlotAxis x, y;
    std::vector<PlotBand> bands;
    std::vector<PlotLine> lines;
    bool wavelengths = false;  // x is a wavelength in nm: a strip under the axis shows where the colors lie
    std::vector<PlotSwatch> swatches;
    std::vector<PlotFigure> figures;
    std::string note;  // small, at the foot; in the middle where there is neither line nor band
};

/// Draws the plot: path ends in .png (1600 x 1000 pixels) or .pdf (A4 landscape, vectors and text), in any case of letters.
/// Errors: bad_usage (another ending), and those of write_file. What is on disk is whole or as it was.
[[nodiscard]] Result<Done> save_plot(const Plot& plot, const std::string& path);

/// bad_usage unless path ends in .png or .pdf: to be asked before long work.
[[nodiscard]] Result<Done> can_save_plot(const std::string& path);

/// Round figures (1, 2 or 5 times a power of ten apart) within low..high, rising, at most `most` (>= 2) of them. Empty if low, high are not finite or
/// not rising.
[[nodiscard]] std::vector<double> round_ticks(double low, double high, int most);

/// The color of light of one wavelength as near as an sRGB screen comes, darker towards the ends of what is seen: for marking, not for measuring.
[[nodiscard]] EncodedRgb wavelength_color(double nm);

}  // namespace sw
