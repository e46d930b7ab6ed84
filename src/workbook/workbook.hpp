// The SQLite store: one file that holds all of a build: targets, readings, cards, set-ups, parts, photos, lamps, notes, paints, pots. Schema in
// DEVELOPERS.md.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "calibrate/calibration.hpp"
#include "workbook/mix_records.hpp"
#include "workbook/records.hpp"

namespace sw {

enum class TargetKind { chip, published, instrument, screen };

/// A kept color to be matched. Lab D50 2 degrees unless `light` says otherwise; covariance in Lab units squared.
struct Target {
    std::int64_t id = 0;  // 0: not stored yet
    std::string name;     // unique, 1..200 bytes of UTF-8, no control characters
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    TargetKind kind = TargetKind::published;
    std::string light = "D50";
    Observer observer = Observer::degree2;
    std::string source;      // plain words: "typed", "bench.jpg 100,20,50,50"
    std::string created;     // ISO 8601 UTC, set when stored
    std::string spectrum{};  // lines nm,reflectance as they came; empty: none
    std::string caution{};   // what the figures are not: "appearance on screen, not a measurement"
};
/// A spectrum's text as a surface. Error: table_malformed; place is `name`.
[[nodiscard]] Result<Reflectance> surface_of(const std::string& csv, const std::string& name);

/// A kept reading with where it came from. calibration_json and statistics are what the program knew, so that it can be recomputed.
struct KeptReading {
    std::int64_t id = 0;
    std::optional<std::int64_t> target;  // against which it was judged
    std::string name;                    // "swatch, mix 3 pot B"
    std::string photo_file, photo_hash, region, calibration_json;
    Lab lab;
    Eigen::Matrix3d lab_covariance = Eigen::Matrix3d::Zero();
    std::string light;
    std::optional<double> de00, ci_low, ci_high;
    std::string verdict, created;
};

/// A measured spectrum as the file gave it: lines nm,reflectance (parse_spectrum).
struct SpectrumText {
    std::string csv;
};

/// A reference of one's own: a neutral by its LRV, a color (Lab, D50, 2 degrees), or a measured spectrum.
struct Card {
    std::int64_t id = 0;
    std::string name;  // as a target's
    std::variant<Lrv, Lab, SpectrumText> value;
    double sd = 0.5;  // points of LRV; of a Lab in each of L*, a*, b*; above 0, up to 50
    bool sd_assumed = true;
    std::string source, created;
};
/// As the photo sees it. Error: table_malformed, of a spectrum; cannot happen to one that came from a workbook.
[[nodiscard]] Result<CardReference> card_reference(const Card&, const Region&);

/// A kept set-up. json: what calibrate/setup_text.hpp makes of it; the rest is for lists.
struct KeptSetup {
    std::int64_t id = 0;
    std::string name;  // as a target's
    std::string photo_file, photo_hash, light, method, grade, json, created;
};

/// The rows that a change wrote or took away, by table and id, and its id among the changes (0: it changed nothing, or cannot be undone).
struct Trace {
    std::int64_t change = 0;
    std::vector<std::pair<std::string, std::int64_t>> rows;
};

/// Open workbook. Each change is one transaction, on disk when the call returns; an error means that nothing of it was saved (only a disk that fails
/// in the very last step of a save can leave it done; never half). For one thread at a time. Movable, not copyable. Errors of every change:
/// workbook_write, workbook_locked (after 2 s), workbook_newer; bad_usage for a name, figure or text that cannot be stored (names are trimmed;
/// covariance must be positive semidefinite). Errors of every reading call: workbook_unreadable, workbook_locked.
class Workbook {
public:
    /// Opens or, if `create`, makes it (and its folder); an empty file counts as not there yet. What an older version made is brought up to this one
    /// where it can be written. What cannot be written is opened to be read as it is, and so is what a newer version made. Errors:
    /// workbook_unreadable, workbook_locked, workbook_newer (in a form that cannot even be read), workbook_write.
    [[nodiscard]] static Result<Workbook> open(const std::filesystem::path&, bool create);
    Workbook(Workbook&&) noexcept;
    Workbook& operator=(Workbook&&) noexcept;
    ~Workbook();

    [[nodiscard]] const std::filesystem::path& path() const;
    [[nodiscard]] bool read_only() const;
    [[nodiscard]] std::int64_t version() const;  // of its form, as it is read
    [[nodiscard]] bool newer() const;            // made by a newer version: can be read; changes give workbook_newer

    [[nodiscard]] Result<std::vector<Target>> targets() const;  // by name
    [[nodiscard]] Result<Target> target(const std::string& name) const;
    [[nodiscard]] Result<std::optional<Target>> target(std::int64_t id) const;
    [[nodiscard]] Result<Target> add(Target);                   // name_taken; returns it with id and time
    [[nodiscard]] Result<Done> put(const Target&);              // insert or replace by id: undo and redo; name_taken
    [[nodiscard]] Result<Done> remove_target(std::int64_t id);  // readings and parts lose the link, notes on it go; name_unknown

    [[nodiscard]] Result<std::vector<KeptReading>> readings() const;  // newest first
    [[nodiscard]] Result<std::optional<KeptReading>> reading(std::int64_t id) const;
    [[nodiscard]] Result<KeptReading> add(KeptReading);  // name_unknown: its target is gone
    [[nodiscard]] Result<Done> put(const KeptReading&);
    [[nodiscard]] Result<Done> remove_reading(std::int64_t id);  // name_unknown

    [[nodiscard]] Result<std::vector<Card>> cards() const;  // by name; none in a workbook of version 1
    [[nodiscard]] Result<Card> card(const std::string& name) const;
    [[nodiscard]] Result<Card> add(Card);                     // name_taken
    [[nodiscard]] Result<Done> remove_card(std::int64_t id);  // name_unknown

    [[nodiscard]] Result<std::vector<KeptSetup>> setups() const;
    [[nodiscard]] Result<KeptSetup> setup(const std::string& name) const;
    [[nodiscard]] Result<KeptSetup> add(KeptSetup);
    [[nodiscard]] Result<Done> remove_setup(std::int64_t id);

    [[nodiscard]] Result<std::vector<Part>> parts() const;  // by name; this and what follows: none in a workbook that could not be brought up
    /// By its name where only one has it, else by its path: "Car no. 2/brake wheel". Errors: name_unknown; bad_usage, which names the paths.
    [[nodiscard]] Result<Part> part(const std::string& name) const;
    [[nodiscard]] Result<std::optional<Part>> part(std::int64_t id) const;
    [[nodiscard]] Result<Part> add(Part);                     // name_taken (in the same place); name_unknown: its parent or target is gone
    [[nodiscard]] Result<Done> put(const Part&);              // bad_usage: it would stand within itself
    [[nodiscard]] Result<Done> remove_part(std::int64_t id);  // bad_usage: there are parts in it; its notes go with it

    [[nodiscard]] Result<std::vector<KeptPhoto>> photos() const;  // newest first
    [[nodiscard]] Result<KeptPhoto> photo(const std::string& hash) const;
    /// The one of the same content where there is one, else added. A path that leads elsewhere now is kept as the new one.
    [[nodiscard]] Result<KeptPhoto> keep(KeptPhoto);
    [[nodiscard]] Result<Done> remove_photo(std::int64_t id);  // what was read from it stays; name_unknown

    [[nodiscard]] Result<std::vector<Lamp>> lamps() const;  // by name
    [[nodiscard]] Result<Lamp> lamp(const std::string& name) const;
    [[nodiscard]] Result<Lamp> add(Lamp);  // name_taken
    [[nodiscard]] Result<Done> remove_lamp(std::int64_t id);

    [[nodiscard]] Result<std::vector<Note>> notes() const;  // oldest first
    [[nodiscard]] Result<std::optional<Note>> note(std::int64_t id) const;
    [[nodiscard]] Result<Note> add(Note);  // name_unknown: what it is about is gone
    [[nodiscard]] Result<Done> remove_note(std::int64_t id);

    [[nodiscard]] Result<std::vector<KeptPaint>> paints() const;  // by name
    [[nodiscard]] Result<KeptPaint> paint(const std::string& name) const;
    [[nodiscard]] Result<KeptPaint> add(KeptPaint);  // name_taken
    [[nodiscard]] Result<Done> put(const KeptPaint&);
    [[nodiscard]] Result<Done> remove_paint(std::int64_t id);  // with its samples; bad_usage: it is in a pot, or other paints were let down with it

    [[nodiscard]] Result<std::vector<KeptSample>> samples() const;  // oldest first, of all paints
    [[nodiscard]] Result<KeptSample> add(KeptSample);               // name_unknown: paint, white or reading is gone
    [[nodiscard]] Result<Done> put(const KeptSample&);
    [[nodiscard]] Result<Done> remove_sample(std::int64_t id);

    [[nodiscard]] Result<std::vector<KeptPot>> pots() const;  // newest first
    [[nodiscard]] Result<KeptPot> pot(const std::string& name) const;
    [[nodiscard]] Result<KeptPot> add(KeptPot);  // name_taken; name_unknown: its target is gone
    [[nodiscard]] Result<Done> put(const KeptPot&);
    [[nodiscard]] Result<Done> remove_pot(std::int64_t id);  // with what went into it and how it looked

    [[nodiscard]] Result<std::vector<KeptAddition>> additions() const;  // oldest first, of all pots
    /// Gets the next number of its pot, unless it has one. name_unknown: pot, paint or what it explains is gone.
    [[nodiscard]] Result<KeptAddition> add(KeptAddition);
    [[nodiscard]] Result<std::vector<KeptPotReading>> pot_readings() const;  // oldest first, of all pots
    [[nodiscard]] Result<KeptPotReading> add(KeptPotReading);                // name_unknown; bad_usage: the addition is another pot's
    [[nodiscard]] Result<Done> put(const KeptPotReading&);

    [[nodiscard]] Result<std::vector<ColumnMapping>> mappings() const;  // newest first
    [[nodiscard]] Result<Done> remember(ColumnMapping);                 // in place of the one for the same headings

    /// Several changes as one: all of them in one transaction, undone as one, or none. words: what it is, "Kept the chip of bench.jpg".
    [[nodiscard]] Result<Done> together(const std::string& words, const std::function<Result<Done>()>& body);
    /// Takes the last change back (the last 200 are kept with the file); redo brings it again until something else is changed. The words of the
    /// change; nothing if there is none. Error name_unknown: a row is no longer as the change left it.
    [[nodiscard]] Result<std::optional<std::string>> undo();
    [[nodiscard]] Result<std::optional<std::string>> redo();
    [[nodiscard]] Result<std::vector<Change>> changes() const;  // newest first
    /// The change that undo() would take back, or redo() bring again; nothing if there is none.
    [[nodiscard]] Result<std::optional<Change>> next_undo() const;
    [[nodiscard]] Result<std::optional<Change>> next_redo() const;
    /// What the last change, undo or redo of this object did: for those who hold a copy of the rows.
    [[nodiscard]] const Trace& trace() const;
    /// Changes whenever another program, or another Workbook of this one, has written to the file.
    [[nodiscard]] Result<std::int64_t> outside_version() const;

private:
    struct Store;
    explicit Workbook(std::unique_ptr<Store>);
    std::unique_ptr<Store> store_;
};

/// $XDG_DATA_HOME/swatchwright/workbook.swb (or ~/.local/share/...).
[[nodiscard]] std::filesystem::path default_workbook_path();

/// Now, as rows tell it: "2031-05-06T07:08:09.123Z".
[[nodiscard]] std::string time_now();

[[nodiscard]] std::string to_word(TargetKind);
[[nodiscard]] std::optional<TargetKind> target_kind(const std::string& word);

}  // namespace sw
