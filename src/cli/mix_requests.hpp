// Command lines about paints and pots, as values.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/arguments.hpp"
#include "cli/book_requests.hpp"
#include "workbook/mix_desk.hpp"

namespace sw {

/// A place in a photo, to be read as a color.
struct PlaceInPhoto {
    PhotoRequest photo;
    Region region;
};

enum class PaintAction { add, list, show, set, measure, learn, remove };
struct PaintRequest {
    PaintAction action = PaintAction::list;
    std::string name;  // empty only for list and learn
    // add and set: what is said of it
    std::optional<std::string> maker, code, binder, pigments, note, rename;
    std::optional<Finish> finish;
    std::optional<bool> is_white, on_shelf;
    std::optional<double> drop_ml, drop_g, density, bottle_ml, price, stock_ml;
    // add and measure: what was seen of it; paint and, of tints, white are not filled in yet
    std::vector<KeptSample> samples;
    std::optional<PlaceInPhoto> photo;  // one sample more, read from there
    double photo_share = 1;
    CoatLaid photo_laid;
    std::string white;  // what the tints are let down with; empty: the shelf's white
    bool sd_assumed = false;
    // learn
    std::vector<std::string> forget, recall;  // names of pots
    bool reset = false;
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};

enum class MixAction { suggest, start, add, take, read, next, scale, log, explain, list, remove };
struct MixRequest {
    MixAction action = MixAction::list;
    std::string name;                 // of the pot; of the target for suggest
    std::string target, batch_of;     // start; suggest: batch_of in place of the target
    std::vector<Light> under;         // none: not said
    std::vector<std::string> lights;  // the same as written
    std::optional<double> tolerance;
    SuggestOptions options;  // suggest; next: paints and most_paints
    // add, take
    std::string paint;  // empty: not known
    bool unknown = false;
    double amount = 0;
    std::string unit;
    std::string note;
    // read
    std::optional<Lab> typed;  // D50, 2 degrees
    double sd = 0.5;
    bool sd_assumed = true, wet = false;
    std::optional<PlaceInPhoto> photo;
    CoatLaid laid;
    // scale
    std::vector<std::pair<std::string, double>> shares;  // paint and share, in place of a pot
    std::optional<double> ml, drops, cm2;
    double coats = 2, coverage = 0, loss = 0;
    // explain
    int how_many = 0, most_drops = 8, take = 0;  // take: which guess to keep, from 1; 0: none
    std::filesystem::path workbook;
    bool workbook_given = false, json = false;
};

}  // namespace sw
