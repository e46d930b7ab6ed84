#include "sheet/pen.hpp"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>

#include <array>
#include <cmath>
#include <cstring>
#include <numbers>

#include "color/free.hpp"
#include "photo/write_picture.hpp"
#include "sheet/file.hpp"
#include "sheet/output_intent.hpp"
#include "sheet/screen.hpp"

namespace sw {
namespace {

constexpr double kA4Width = kA4.height, kA4Height = kA4.width;  // points, landscape

using Surface = std::unique_ptr<cairo_surface_t, Free<cairo_surface_destroy>>;
using Context = std::unique_ptr<cairo_t, Free<cairo_destroy>>;
using Font = std::unique_ptr<PangoFontDescription, Free<pango_font_description_free>>;
using Attributes = std::unique_ptr<PangoAttrList, Free<pango_attr_list_unref>>;
using FontOptions = std::unique_ptr<cairo_font_options_t, Free<cairo_font_options_destroy>>;

// What Pango can take: valid UTF-8 without control characters.
std::string clean(const std::string& text) {
    const std::unique_ptr<char, Free<g_free>> valid(g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())));
    std::string result(valid.get());
    for (char& c : result) {
        if (static_cast<unsigned char>(c) < 0x20U || c == 0x7F) c = ' ';
    }
    return result;
}

/// Cairo's pixels: 32 bits, native order, red in the third byte.
Surface surface_of(int width, int height, const std::vector<std::uint8_t>& rgb) {
    Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
    if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) return surface;
    cairo_surface_flush(surface.get());
    unsigned char* row = cairo_image_surface_get_data(surface.get());
    const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface.get()));
    const std::uint8_t* from = rgb.data();
    for (int y = 0; y < height; ++y, row += stride) {
        for (int x = 0; x < width; ++x, from += 3) {
            const std::uint32_t pixel = static_cast<std::uint32_t>(from[0]) << 16U | static_cast<std::uint32_t>(from[1]) << 8U | from[2];
            std::memcpy(row + 4 * static_cast<std::size_t>(x), &pixel, 4);
        }
    }
    cairo_surface_mark_dirty(surface.get());
    return surface;
}

}  // namespace

struct Pen::Layout {
    std::unique_ptr<PangoLayout, Free<g_object_unref>> layout;

    void set(const std::string& text, const Writing& how) const {
        const Font font(pango_font_description_new());
        pango_font_description_set_family(font.get(), "DejaVu Sans");
        pango_font_description_set_absolute_size(font.get(), how.size * PANGO_SCALE);
        pango_font_description_set_weight(font.get(), how.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
        pango_layout_set_font_description(layout.get(), font.get());
        pango_layout_set_width(layout.get(), how.width > 0 ? static_cast<int>(how.width * PANGO_SCALE) : -1);
        pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
        pango_layout_set_height(layout.get(), how.width > 0 ? -how.lines : -1);
        pango_layout_set_ellipsize(layout.get(), how.width > 0 ? PANGO_ELLIPSIZE_END : PANGO_ELLIPSIZE_NONE);
        const Attributes attributes(pango_attr_list_new());  // a name broken within a word gets no hyphen that it does not have
        pango_attr_list_insert(attributes.get(), pango_attr_insert_hyphens_new(FALSE));
        pango_layout_set_attributes(layout.get(), attributes.get());
        const std::string shown = clean(text);
        pango_layout_set_text(layout.get(), shown.data(), static_cast<int>(shown.size()));
    }
};

Pen::Pen(_cairo* to) : to_(to), layout_(new Layout{decltype(Layout::layout)(pango_cairo_create_layout(to))}) {
    // no hinting: the same line breaks at every size and on paper
    const FontOptions options(cairo_font_options_create());
    cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout_->layout.get()), options.get());
}
Pen::~Pen() = default;

int letters_without_font(const std::string& text) {
    const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1));
    const Context context(cairo_create(surface.get()));
    const Pen::Layout layout{decltype(Pen::Layout::layout)(pango_cairo_create_layout(context.get()))};
    layout.set(text, {});
    return pango_layout_get_unknown_glyphs_count(layout.layout.get());
}

void Pen::scale(double factor) const { cairo_scale(to_, factor, factor); }

void Pen::ink(const EncodedRgb& color, double alpha) const { cairo_set_source_rgba(to_, color.r, color.g, color.b, alpha); }

void Pen::fill(const PageBox& box, const EncodedRgb& color) const {
    ink(color);
    cairo_rectangle(to_, box.x, box.y, box.width, box.height);
    cairo_fill(to_);
}

void Pen::frame(const PageBox& box, const EncodedRgb& color, double width) const {
    ink(color);
    cairo_set_line_width(to_, width);
    cairo_rectangle(to_, box.x, box.y, box.width, box.height);
    cairo_stroke(to_);
}

void Pen::line(double x0, double y0, double x1, double y1, const EncodedRgb& color, double width) const {
    ink(color);
    cairo_set_line_width(to_, width);
    cairo_move_to(to_, x0, y0);
    cairo_line_to(to_, x1, y1);
    cairo_stroke(to_);
}

void Pen::circle(double x, double y, double radius, const EncodedRgb& color, double width) const {
    ink(color);
    cairo_new_sub_path(to_);
    cairo_arc(to_, x, y, radius, 0, 2 * std::numbers::pi);
    if (width > 0) {
        cairo_set_line_width(to_, width);
        cairo_stroke(to_);
    } else {
        cairo_fill(to_);
    }
}

void Pen::polygon(const std::vector<std::pair<double, double>>& points, const EncodedRgb& color) const {
    ink(color);
    cairo_new_path(to_);  // text leaves a point behind
    for (const auto& [x, y] : points) cairo_line_to(to_, x, y);
    cairo_close_path(to_);
    cairo_fill(to_);
}

void Pen::picture(const PageBox& box, int width, int height, const std::vector<std::uint8_t>& rgb) const {
    if (width <= 0 || height <= 0) return;
    const Surface surface = surface_of(width, height, rgb);
    cairo_save(to_);
    cairo_rectangle(to_, box.x, box.y, box.width, box.height);
    cairo_clip(to_);
    cairo_translate(to_, box.x, box.y);
    cairo_scale(to_, box.width / width, box.height / height);
    cairo_set_source_surface(to_, surface.get(), 0, 0);
    cairo_pattern_set_extend(cairo_get_source(to_), CAIRO_EXTEND_PAD);
    cairo_pattern_set_filter(cairo_get_source(to_), CAIRO_FILTER_GOOD);
    cairo_paint(to_);
    cairo_restore(to_);
}

PageBox Pen::measure(const std::string& text, const Writing& how) {
    layout_->set(text, how);
    int width = 0, height = 0;
    pango_layout_get_size(layout_->layout.get(), &width, &height);
    return {0, 0, static_cast<double>(width) / PANGO_SCALE, static_cast<double>(height) / PANGO_SCALE};
}

double Pen::write(double x, double y, const std::string& text, const Writing& how) {
    const double height = measure(text, how).height;
    ink(how.ink);
    cairo_move_to(to_, x, y);
    pango_cairo_show_layout(to_, layout_->layout.get());
    return height;
}

void Pen::write_below(double x, double y, const std::string& text, const Writing& how) { write(x - measure(text, how).width / 2, y, text, how); }

void Pen::write_left_of(double x, double y, const std::string& text, const Writing& how) {
    const PageBox size = measure(text, how);
    write(x - size.width, y - size.height / 2, text, how);
}

void Pen::write_around(double x, double y, const std::string& text, const Writing& how) {
    const PageBox size = measure(text, how);
    write(x - size.width / 2, y - size.height / 2, text, how);
}

void Pen::write_over(double x, double y, const std::string& text, const Writing& how, const EncodedRgb& edge) {
    const PageBox size = measure(text, how);
    cairo_move_to(to_, x - size.width / 2, y - size.height / 2);
    pango_cairo_layout_path(to_, layout_->layout.get());
    ink(edge);
    cairo_set_line_width(to_, how.size / 5);
    cairo_set_line_join(to_, CAIRO_LINE_JOIN_ROUND);
    cairo_stroke(to_);
    write(x - size.width / 2, y - size.height / 2, text, how);
}

namespace {

cairo_status_t append(void* bytes, const unsigned char* data, unsigned int length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

enum class PageFormat { none, png, pdf };
/// A PNG with its profile; empty where it could not be made.
std::string tagged_png(int width, int height, const std::vector<std::uint8_t>& rgb, const std::vector<std::uint8_t>& profile) {
    if (rgb.empty()) return {};
    const std::vector<unsigned char> bytes = written(
        {.format = PictureToWrite::Format::png, .width = width, .height = height, .software = "Swatchwright", .description = {}, .profile = profile},
        rgb.data());
    return {bytes.begin(), bytes.end()};
}

PageFormat page_format_of(const std::string& path) {
    std::string ending = path.size() < 4 ? "" : path.substr(path.size() - 4);
    for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return ending == ".png" ? PageFormat::png : ending == ".pdf" ? PageFormat::pdf : PageFormat::none;
}

}  // namespace

Result<Done> can_save_page(const std::string& path, const std::string& like) {
    if (page_format_of(path) != PageFormat::none) return Done{};
    return Error{Fault::bad_usage, path, "", "ends neither in .png nor in .pdf", "give a file name like " + like + ".png or " + like + ".pdf"};
}

Result<Done> save_page(const std::string& path, const std::string& title, int png_height, const std::string& like,
                       const std::function<void(Pen&, double)>& draw, const std::vector<std::uint8_t>& profile) {
    const auto can = can_save_page(path, like);
    if (!can) return can;
    std::string bytes;
    cairo_status_t status = CAIRO_STATUS_SUCCESS;
    if (page_format_of(path) == PageFormat::png && !profile.empty()) {
        const int width = static_cast<int>(kPageWidth);
        bytes = tagged_png(width, png_height, draw_picture(width, png_height, [&](Pen& pen) { draw(pen, png_height); }), profile);
        if (bytes.empty()) status = CAIRO_STATUS_WRITE_ERROR;
    } else if (page_format_of(path) == PageFormat::png) {
        const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(kPageWidth), png_height));
        const Context to(cairo_create(surface.get()));
        Pen pen(to.get());
        draw(pen, png_height);
        status = cairo_status(to.get());
        if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_write_to_png_stream(surface.get(), append, &bytes);
    } else {
        const Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, kA4Width, kA4Height));
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, clean(title).c_str());
        const Context to(cairo_create(surface.get()));
        const double unit = kA4Width / kPageWidth;
        cairo_scale(to.get(), unit, unit);
        Pen pen(to.get());
        draw(pen, kA4Height / unit);
        cairo_show_page(to.get());
        status = cairo_status(to.get());
        cairo_surface_finish(surface.get());
        if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface.get());
    }
    if (status != CAIRO_STATUS_SUCCESS) {
        return Error{Fault::internal, path, "", std::string("could not be drawn: ") + cairo_status_to_string(status), "please report it"};
    }
    return write_file(path, bytes);
}

Result<std::vector<DrawnFile>> draw_pages(const std::string& path, const std::string& title, const Paper& paper, std::size_t pages,
                                          const std::function<void(Pen&, std::size_t)>& draw) {
    if (const auto can = can_save_page(path, "sheet"); !can) return can.error();
    const auto failed = [&](const char* why) {
        return Error{Fault::internal, path, "", std::string("could not be drawn: ") + why, "please report it"};
    };
    std::vector<DrawnFile> files;
    if (page_format_of(path) == PageFormat::pdf) {
        std::string bytes;
        const Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, paper.width, paper.height));
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, clean(title).c_str());
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "Swatchwright");
        for (std::size_t page = 0; page < pages; ++page) {
            const Context to(cairo_create(surface.get()));
            Pen pen(to.get());
            draw(pen, page);
            cairo_show_page(to.get());
        }
        cairo_surface_finish(surface.get());
        if (const auto status = cairo_surface_status(surface.get()); status != CAIRO_STATUS_SUCCESS) return failed(cairo_status_to_string(status));
        auto intended = with_output_intent(std::move(bytes), Screen().profile());
        if (!intended) return failed("the PDF is not as expected");
        files.push_back({path, *std::move(intended)});
    } else {
        constexpr double kScale = 200.0 / 72;
        const int width = static_cast<int>(std::lround(paper.width * kScale)), height = static_cast<int>(std::lround(paper.height * kScale));
        for (std::size_t page = 0; page < pages; ++page) {
            const auto picture = draw_picture(width, height, [&](Pen& pen) {
                pen.fill({0, 0, static_cast<double>(width), static_cast<double>(height)}, kPaper);
                pen.scale(kScale);
                draw(pen, page);
            });
            std::string bytes = tagged_png(width, height, picture, Screen().profile());
            if (bytes.empty()) return failed("no memory");
            const std::string number = pages > 1 ? "-" + std::to_string(page + 1) : "";
            files.push_back({path.substr(0, path.size() - 4) + number + path.substr(path.size() - 4), std::move(bytes)});
        }
    }
    return files;
}

std::vector<std::uint8_t> draw_picture(int width, int height, const std::function<void(Pen&)>& draw) {
    const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
    const Context to(cairo_create(surface.get()));
    {
        Pen pen(to.get());
        draw(pen);
    }
    if (cairo_status(to.get()) != CAIRO_STATUS_SUCCESS) return {};
    cairo_surface_flush(surface.get());
    std::vector<std::uint8_t> rgb(3 * static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    const unsigned char* row = cairo_image_surface_get_data(surface.get());
    const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface.get()));
    std::uint8_t* into = rgb.data();
    for (int y = 0; y < height; ++y, row += stride) {
        for (int x = 0; x < width; ++x, into += 3) {
            std::uint32_t pixel = 0;
            std::memcpy(&pixel, row + 4 * static_cast<std::size_t>(x), 4);
            into[0] = static_cast<std::uint8_t>(pixel >> 16U);
            into[1] = static_cast<std::uint8_t>(pixel >> 8U);
            into[2] = static_cast<std::uint8_t>(pixel);
        }
    }
    return rgb;
}

}  // namespace sw
