// Cairo and Pango behind the few things a page needs; and pages as files.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "color/color.hpp"
#include "color/result.hpp"

struct _cairo;  // a cairo_t

namespace sw {

// All lengths in units of a page 1600 wide: pixels of the PNG. On A4 a unit is 0.526 points, so text of 18 is 9.5 points there.
inline constexpr double kPageWidth = 1600, kPageMargin = 56, kPageGap = 44;
inline constexpr int kPageHeight = 1131;  // A4's proportion

inline constexpr EncodedRgb kInk{0.13, 0.13, 0.13}, kDarkInk{0.08, 0.08, 0.08}, kPaleInk{0.38, 0.38, 0.38}, kGridInk{0.87, 0.87, 0.87},
    kPaper{1, 1, 1};
inline constexpr EncodedRgb kSurround{0.466, 0.466, 0.466};  // L* 50, neutral: no color beside a swatch to judge it against

struct PageBox {
    double x = 0, y = 0, width = 0, height = 0;
    [[nodiscard]] double right() const { return x + width; }
    [[nodiscard]] double bottom() const { return y + height; }
};

struct Writing {
    double size = 25;
    bool bold = false;
    EncodedRgb ink = kInk;
    double width = 0;  // 0: one line as long as it takes; else broken to it
    int lines = 1;     // at most so many of them, the last shortened with an ellipsis
};

class Pen {
public:
    explicit Pen(_cairo* to);
    Pen(const Pen&) = delete;
    Pen& operator=(const Pen&) = delete;
    ~Pen();

    /// From now on a unit is so many of those before.
    void scale(double factor) const;
    void ink(const EncodedRgb& color, double alpha = 1) const;
    void fill(const PageBox&, const EncodedRgb& color) const;
    void frame(const PageBox&, const EncodedRgb& color, double width) const;
    void line(double x0, double y0, double x1, double y1, const EncodedRgb& color, double width) const;
    /// Around x, y; width 0: filled.
    void circle(double x, double y, double radius, const EncodedRgb& color, double width) const;
    /// Filled polygon.
    void polygon(const std::vector<std::pair<double, double>>& points, const EncodedRgb& color) const;
    /// A picture of interleaved RGB, 8 bits, stretched into the box.
    void picture(const PageBox&, int width, int height, const std::vector<std::uint8_t>& rgb) const;

    /// Width and height of the text as it would be written.
    [[nodiscard]] PageBox measure(const std::string& text, const Writing&);
    /// Writes at the top left corner x, y (with a width: of the column); returns the height.
    double write(double x, double y, const std::string& text, const Writing&);
    /// Writes with the middle of the text at x and its top at y; its right end at x and its middle at y; its middle at both.
    void write_below(double x, double y, const std::string& text, const Writing&);
    void write_left_of(double x, double y, const std::string& text, const Writing&);
    void write_around(double x, double y, const std::string& text, const Writing&);
    /// The same around a point with a light edge, readable over anything.
    void write_over(double x, double y, const std::string& text, const Writing&, const EncodedRgb& edge);

    [[nodiscard]] _cairo* to() const { return to_; }

    struct Layout;

private:
    _cairo* to_;
    std::unique_ptr<Layout> layout_;
};

/// How many letters of the text no font of this computer has: a box with the letter's number stands for each.
[[nodiscard]] int letters_without_font(const std::string& text);

/// bad_usage unless path ends in .png or .pdf, in any case of letters; `like` is an example for the remedy: "plot".
[[nodiscard]] Result<Done> can_save_page(const std::string& path, const std::string& like);

/// Draws one page and writes it: .png (1600 x png_height pixels) or .pdf (A4 landscape, vectors and text). draw gets the page's height in units.
/// profile: ICC profile that a PNG is tagged with; empty: none.
/// Errors: bad_usage (another ending), and those of write_file. What is on disk is whole or as it was.
[[nodiscard]] Result<Done> save_page(const std::string& path, const std::string& title, int png_height, const std::string& like,
                                     const std::function<void(Pen&, double page_height)>& draw, const std::vector<std::uint8_t>& profile = {});

/// Upright paper; a unit is a point, 1/72 inch.
struct Paper {
    double width = 0, height = 0;
};
inline constexpr Paper kA4{595.276, 841.89}, kLetter{612, 792};  // ISO 216; ANSI/ASME Y14.1

/// A file that is not written yet.
struct DrawnFile {
    std::string name, bytes;
};
/// Pages 0..pages - 1 as files: by path's ending .pdf one file with sRGB as its output intent; .png one picture a page (200 dpi, sRGB), numbered
/// where there are several: sheet-1.png. Errors: bad_usage (another ending), internal.
[[nodiscard]] Result<std::vector<DrawnFile>> draw_pages(const std::string& path, const std::string& title, const Paper&, std::size_t pages,
                                                        const std::function<void(Pen&, std::size_t page)>& draw);

/// Draws into a picture of interleaved RGB, 8 bits; units are its pixels. Empty where there is no memory for it.
[[nodiscard]] std::vector<std::uint8_t> draw_picture(int width, int height, const std::function<void(Pen&)>& draw);

}  // namespace sw
