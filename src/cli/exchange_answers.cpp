#include "cli/exchange_answers.hpp"

#include <nlohmann/json.hpp>

#include "cli/text.hpp"

namespace sw {
namespace {

using OrderedJson = nlohmann::ordered_json;

std::string line_of(const OrderedJson& json) { return json.dump(-1, ' ', false, OrderedJson::error_handler_t::replace) + "\n"; }

std::string counted(std::size_t count, const std::string& what) { return std::to_string(count) + " " + what + (count == 1 ? "" : "s"); }

/// "3 targets, 2 readings and 1 card", without what there is none of.
std::string counts(std::size_t targets, std::size_t readings, std::size_t cards) {
    std::vector<std::string> parts;
    if (targets > 0) parts.push_back(counted(targets, "target"));
    if (readings > 0) parts.push_back(counted(readings, "reading"));
    if (cards > 0) parts.push_back(counted(cards, "card"));
    return parts.empty() ? "nothing" : listed(parts);
}

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

std::string export_report(const ExportRequest& request, const ExportTold& told) {
    std::string text = wrapped("Wrote " + counts(told.targets, told.readings, told.cards) + " into " + request.out + ".");
    text += renamed_words(told.renamed);
    for (const NotTaken& one : told.left_out) text += wrapped("Left out: " + not_taken_words(one) + ".", "  ");
    for (const std::string& note : told.notes) text += wrapped(capitalized(note) + ".", "  ");
    return text;
}

std::string export_json(const ExportRequest& request, const ExportTold& told) {
    return line_of({{"file", request.out},
                    {"targets", told.targets},
                    {"readings", told.readings},
                    {"cards", told.cards},
                    {"left_out", not_taken_json(told.left_out)},
                    {"renamed", renamed_json(told.renamed)},
                    {"notes", told.notes}});
}

std::string import_report(const ImportRequest& request, const Exchange& added) {
    std::string text = wrapped("Took " + counts(added.targets.size(), added.readings.size(), added.cards.size()) + " from " + request.file +
                               " into " + request.workbook.string() + ".");
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
                    {"not_taken", not_taken_json(added.not_taken)},
                    {"renamed", renamed_json(added.renamed)},
                    {"notes", added.notes}});
}

std::string sheet_report(const SheetTold& told) {
    return wrapped("Drew " + counted(told.targets, "target") + " on " + counted(told.pages, "page") + " into " + listed(told.files) + ".");
}

std::string sheet_json(const SheetTold& told) { return line_of({{"files", told.files}, {"pages", told.pages}, {"targets", told.targets}}); }

}  // namespace sw
