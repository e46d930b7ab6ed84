// The small languages inside option values. Pure: text in, value out; errors name the option and say what would do.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "calibrate/calibration.hpp"
#include "color/light.hpp"

namespace sw {

struct NamedRegion {
    std::string name;
    Region region;
};

/// How a photo is to be read: its file and what is known about it.
struct PhotoRequest {
    std::string file;
    References references;
    bool chart_asked = false;  // false: a chart is looked for, but it is no fault if there is none
    Transfer transfer;
    std::optional<Light> lit_by;
    std::string flat;                // picture of a plain board in the same light; empty: none
    std::vector<NamedRegion> cards;  // names of cards in the workbook, and where they lie
    std::string setup;               // name of a set-up in the workbook, in place of references; empty: none
    std::filesystem::path workbook;  // where cards and set-up are kept
};

/// One photo of the pair.
struct PairRequest {
    PhotoRequest photo;
    Region chip, swatch;
    bool has_chip = true;
};

/// `L,a,b`. L 0..100 and chroma up to 150: beyond that lies no surface color. option is for the message ("--lab"). Error: bad_usage.
[[nodiscard]] Result<Lab> parse_lab(std::string_view text, const std::string& option);
/// `REGION[=LRV]`, LRV above 0, up to 100. Errors: region_malformed, bad_usage.
[[nodiscard]] Result<GrayReference> parse_gray(std::string_view text, const std::string& option);
/// `auto`, `none` or eight numbers. Error: bad_usage.
[[nodiscard]] Result<ChartReference> parse_chart(std::string_view text, const std::string& option);
/// `auto` (nothing: told from the photo), `before-2014` or `2014`. Error: bad_usage.
[[nodiscard]] Result<std::optional<ChartEdition>> parse_chart_edition(std::string_view text, const std::string& option);
/// `NAME=REGION=L,a,b`; the name may hold '='. Errors: region_malformed, bad_usage.
[[nodiscard]] Result<KnownReference> parse_known(std::string_view text, const std::string& option);
/// `NAME=REGION`; the name may hold '='. Errors: region_malformed, bad_usage.
[[nodiscard]] Result<NamedRegion> parse_named_region(std::string_view text, const std::string& option);
/// `PHOTO:chip=REGION:swatch=REGION[:gray=REGION[=LRV]][:chart=...][:chart-edition=...][:known=NAME=REGION=L,a,b][:card=NAME=REGION][:setup=NAME][:lit-by=LIGHT]`.
/// A ':' counts only before one of these words and '=', so that file names, `ellipse:`, `poly:` and `led:` may hold one. Errors: as the parts',
/// bad_usage. own: lamps that a LIGHT may name. chip_needed: false where a photo of the swatch alone will do. option is for the message.
[[nodiscard]] Result<PairRequest> parse_pair(std::string_view text, const FileReader& read_file, const OwnLights& own = {},
                                             const std::string& option = "--pair", bool chip_needed = true);

/// How a color is written.
enum class ColorForm { lab, lch, xyz, srgb, p3, munsell_value, lrv };
/// `lab`, `lch`, `xyz`, `srgb`, `p3`, `munsell-value`, `lrv`. Error: bad_usage.
[[nodiscard]] Result<ColorForm> parse_color_form(std::string_view text);
/// A color relative to `white`: three numbers, one for munsell_value (0..10) and lrv (0..100), `#rrggbb` or three codes 0..255 for srgb and p3; those
/// mean D65 and are adapted by Bradford. No form: srgb where the text begins with '#', else lab. Error: bad_usage, for what is no color at all;
/// colors that no surface can have are let through.
struct StatedColor {
    Lab lab;
    ColorForm form = ColorForm::lab;
};
[[nodiscard]] Result<StatedColor> parse_color(std::string_view text, std::optional<ColorForm> form, const Xyz& white);

/// The chart is looked for only when nothing else was marked. Errors (bad_usage): references beside a set-up, an edition without a chart.
[[nodiscard]] Result<Done> settle_chart(PhotoRequest& photo);

}  // namespace sw
