#include "cli/exchange_answers.hpp"

#include <nlohmann/json.hpp>

#include "cli/text.hpp"

namespace sw {
namespace {

using OrderedJson = nlohmann::ordered_json;

std::string line_of(const OrderedJson& json) { return json.dump(-1, ' ', false, OrderedJson::error_handler_t::replace) + "\n"; }

OrderedJson not_taken_json(const std::vector<NotTaken>& all) {
    OrderedJson list = OrderedJson::array();
    for (const NotTaken& one : all) list.push_back({{"place", one.place}, {"name", one.name}, {"reason", one.reason}});
    return list;
}

OrderedJson renamed_json(const std::vector<Renamed>& all) {
    OrderedJson list = OrderedJson::array();
    for (const Renamed& one : all) list.push_back({{"from", one.from}, {"to", one.to}});
    return list;
}

std::string renamed_words(const std::vector<Renamed>& all) {
    std::string text;
    for (const Renamed& one : all) text += wrapped("\"" + one.from + "\" is called \"" + one.to + "\" there.", "  ");
    return text;
}

}  // namespace

std::string not_taken_words(const NotTaken& one) {
    std::string text;
    for (const std::string* part : {&one.place, &one.name}) {
        if (!part->empty()) text += *part + ": ";
    }
    return text + one.reason;
}

std::string export_report(const ExportRequest& request, const ExportedFile& told) {
    std::string text = wrapped("Wrote " + in_words(told.written) + " into " + request.out + ".");
    text += renamed_words(told.renamed);
    for (const NotTaken& one : told.left_out) text += wrapped("Left out: " + not_taken_words(one) + ".", "  ");
    for (const std::string& note : told.notes) text += wrapped(capitalized(note) + ".", "  ");
    return text;
}

std::string export_json(const ExportRequest& request, const ExportedFile& told) {
    return line_of({{"file", request.out},
                    {"targets", told.written.targets},
                    {"readings", told.written.readings},
                    {"cards", told.written.cards},
                    {"lamps", told.written.lamps},
                    {"parts", told.written.parts},
                    {"kept_notes", told.written.notes},
                    {"photos", told.written.photos},
                    {"setups", told.written.setups},
                    {"paints", told.written.paints},
                    {"samples", told.written.samples},
                    {"pots", told.written.pots},
                    {"left_out", not_taken_json(told.left_out)},
                    {"renamed", renamed_json(told.renamed)},
                    {"notes", told.notes}});
}

std::string import_report(const ImportRequest& request, const Exchange& added) {
    std::string text = wrapped("Took " + in_words(counts_of(added)) + " from " + request.file + " into " + request.workbook.string() + ".");
    if (!added.not_taken.empty()) text += wrapped("Not taken: " + std::to_string(added.not_taken.size()) + ", see the messages.");
    return text + renamed_words(added.renamed);
}

std::string import_json(const ImportRequest& request, const Exchange& added) {
    OrderedJson names = OrderedJson::array();
    for (const Target& target : added.targets) names.push_back(target.name);
    return line_of({{"file", request.file},
                    {"workbook", request.workbook.string()},
                    {"targets", names},
                    {"readings", added.readings.size()},
                    {"cards", added.cards.size()},
                    {"lamps", added.lamps.size()},
                    {"parts", added.parts.size()},
                    {"kept_notes", added.kept_notes.size()},
                    {"photos", added.photos.size()},
                    {"setups", added.setups.size()},
                    {"paints", added.paints.size()},
                    {"samples", added.samples.size()},
                    {"pots", added.pots.size()},
                    {"not_taken", not_taken_json(added.not_taken)},
                    {"renamed", renamed_json(added.renamed)},
                    {"notes", added.notes}});
}

std::string sheet_report(const SheetTold& told) {
    return wrapped("Drew " +
                   (told.pots > 0    ? counted(told.pots, "pot")
                    : told.parts > 0 ? counted(told.parts, "part")
                                     : counted(told.targets, "target")) +
                   " on " + counted(told.pages, "page") + " into " + listed(told.files) + ".");
}

std::string sheet_json(const SheetTold& told) {
    return line_of({{"files", told.files}, {"pages", told.pages}, {"targets", told.targets}, {"parts", told.parts}, {"pots", told.pots}});
}

}  // namespace sw
