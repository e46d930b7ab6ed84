// A command line as a value.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "calibrate/screen.hpp"
#include "cli/arguments.hpp"
#include "cli/book_requests.hpp"
#include "cli/mix_requests.hpp"
#include "color/metamerism_index.hpp"
#include "match/compare.hpp"
#include "match/difference_map.hpp"
#include "match/rank.hpp"
#include "sheet/book_files.hpp"
#include "sheet/book_sheets.hpp"
#include "sheet/corrected.hpp"
#include "sheet/screen.hpp"
#include "workbook/workbook.hpp"

namespace sw {

/// The user asked for words about the program, not for work.
struct HelpRequest {
    std::string text;
};
struct MeasureRequest {
    PhotoRequest photo;
    std::vector<NamedRegion> regions;
    Light under;
    Observer observer = Observer::degree2;
    bool json = false;
};
struct CompareRequest {
    std::vector<PairRequest> pairs;  // one or more
    CompareOptions options;
    std::string ladder;            // file to draw the light ladder into; empty: none
    std::optional<Screen> screen;  // for which it is drawn; nothing: sRGB
    bool tolerance_given = false, json = false, check = false;
};
struct RankRequest {
    PhotoRequest photo;
    std::optional<Region> chip;         // with it: swatches against the chip
    std::vector<NamedSwatch> swatches;  // one where there is no chip
    std::vector<std::string> targets;   // names in the workbook; none and no chip: all of them
    CompareOptions options;
    bool json = false, check = false;
};
struct CoatRequest {
    PairRequest before, after;
    bool one_photo = false;  // chip of `before` is the bare place, swatch of it the coated one
    bool json = false;
};
struct MapRequest {
    PhotoRequest photo;
    Region region;
    std::variant<Region, Lab, std::string> against;  // a chip in the same photo, a color (D50, 2 degrees), the name of a target in the workbook
    MapOptions options;
    std::string out;  // file to draw into; empty: none
    bool json = false;
};
struct CorrectRequest {
    PhotoRequest photo;
    std::string out, profile, report;  // files to write; one at least is named
    CorrectedOptions options;
    bool json = false;
};
struct CalibrateRequest {
    PhotoRequest photo;
    std::string save;  // name of the set-up to keep; empty: only told
    Observer observer = Observer::degree2;
    bool json = false;
};
struct SpectraRequest {
    std::string file_a, file_b;
    std::vector<Light> under;  // one or more; the first is the reference
    Observer observer = Observer::degree2;
    Correction correction = Correction::multiplicative;
    bool json = false;
};
struct LightRequest {
    std::optional<Light> light;  // none: all that have a name are listed
    Observer observer = Observer::degree2;
    std::filesystem::path workbook;  // whose lamps are listed too
    bool json = false;
    std::string plot;  // file to draw into; empty: none
};
struct ColorRequest {
    std::string text;  // as typed
    StatedColor color;
    Light under;
    Observer observer = Observer::degree2;
    bool json = false;
    std::string plot;
};
enum class TargetAction { add, list, show, remove };
struct ScreenRequest {
    struct Frame {
        std::string file;
        Region region;
    };
    std::vector<Frame> frames;        // one or more
    std::optional<KnownThing> known;  // in every frame
    std::string still;                // white still of the photographed screen; empty: screen grabs
    std::optional<Region> still_region;
    Transfer transfer;
    std::string keep;  // name of the target to keep; empty: only told
    std::filesystem::path workbook;
    bool json = false;
};
struct TargetRequest {
    TargetAction action = TargetAction::list;
    std::string name;          // empty only for list
    std::optional<Lab> typed;  // add: a typed color, its white is that of `under`
    double sd = 0.5;           // its doubt in each of L*, a*, b*
    bool sd_assumed = true;
    std::optional<PhotoRequest> photo;  // add: or a color read from a photo
    Region region;
    Light under;
    Observer observer = Observer::degree2;
    ListRequest list;
    std::optional<TargetKind> kind;  // list: only these
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};
struct CardRequest {
    TargetAction action = TargetAction::list;
    std::string name;  // empty only for list
    Card card;         // add
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};
struct SetupRequest {
    TargetAction action = TargetAction::list;  // never add: that is calibrate --save
    std::string name;
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};
struct DemoRequest {
    std::filesystem::path folder;  // empty: the one that came with the program
    bool json = false;
};
struct ExportRequest {
    std::string out;  // file to write; its ending says the format
    ExchangeFormat format = ExchangeFormat::json;
    std::vector<std::string> targets;  // only these; none: everything
    std::string what = "targets";      // targets, readings or cards: of a CSV file
    std::string card;                  // the spectrum of this card, as CSV; empty: none
    std::filesystem::path workbook;
    bool json = false;
};
struct ImportRequest {
    std::string file;
    ExchangeFormat format = ExchangeFormat::csv;           // never icc
    std::vector<std::pair<std::string, std::string>> map;  // column of a CSV file, and what it means
    std::optional<Light> under;                            // light of a CSV file that names none; nothing: D50
    Observer observer = Observer::degree2;                 // likewise
    std::optional<double> sd;                              // where the file gives none
    TargetKind kind = TargetKind::instrument;              // likewise
    bool rename = false;                                   // a name that is taken gets a number
    std::filesystem::path workbook;
    bool json = false;
};
struct SheetRequest {
    SheetKind kind = SheetKind::targets;
    std::vector<std::string> names;  // of targets, of parts for a build; none: all
    Paper paper = kA4;
    std::string out;
    std::filesystem::path workbook;
    bool json = false;
};
struct ShareRequest {
    std::string out;                   // .zip
    std::vector<std::string> targets;  // only these; none: everything
    Paper paper = kA4;
    std::filesystem::path workbook;
    bool json = false;
};
using Request = std::variant<HelpRequest, MeasureRequest, CompareRequest, RankRequest, CoatRequest, MapRequest, CorrectRequest, CalibrateRequest,
                             SpectraRequest, LightRequest, ColorRequest, ScreenRequest, TargetRequest, CardRequest, SetupRequest, DemoRequest,
                             ExportRequest, ImportRequest, SheetRequest, ShareRequest, PartRequest, ReadingBookRequest, PhotoBookRequest, LampRequest,
                             NoteRequest, FindRequest, WorkbookRequest, PaintRequest, MixRequest>;

/// Reads the arguments (without the program's name). Light and option files are read here, pictures are not.
/// Errors: bad_usage, light_unknown, region_malformed; file_missing and table_malformed for a light's CSV.
/// Names of all commands, as the help lists them.
[[nodiscard]] std::vector<std::string> command_list();
[[nodiscard]] Result<Request> parse_command_line(const std::vector<std::string>& arguments);

/// What --help prints.
[[nodiscard]] std::string overview();

}  // namespace sw
