#include "cli/exchange_arguments.hpp"

#include <algorithm>

#include "cli/parser.hpp"
#include "cli/text.hpp"
#include "workbook/exchange_csv.hpp"

namespace sw::args {
namespace {

/// Texts with commas between.
Texts split(const Texts& texts) {
    Texts parts;
    for (const std::string& text : texts) {
        for (std::size_t start = 0; start <= text.size();) {
            const std::size_t end = std::min(text.find(',', start), text.size());
            if (const auto part = trimmed(std::string_view(text).substr(start, end - start)); !part.empty()) parts.emplace_back(part);
            start = end + 1;
        }
    }
    return parts;
}

/// COLUMN=MEANING, with commas between.
Result<std::vector<std::pair<std::string, std::string>>> map_of(const Texts& texts) {
    std::vector<std::pair<std::string, std::string>> map;
    for (const std::string& part : split(texts)) {
        const auto equals = part.rfind('=');
        const std::string_view whole = part;
        const auto meaning = equals == std::string::npos ? std::string_view() : trimmed(whole.substr(equals + 1));
        if (meaning.empty() || !is_column_meaning(meaning))
            return usage("--map \"" + part + "\"", "says not what the column means", "write COLUMN=MEANING, like \"Sample ID=name\" or #4=l");
        map.emplace_back(trimmed(whole.substr(0, equals)), meaning);
    }
    return map;
}

Result<Paper> paper_of(const Texts& texts) {
    if (texts.empty() || texts[0] == "A4" || texts[0] == "a4") return kA4;
    if (texts[0] == "Letter" || texts[0] == "letter") return kLetter;
    return usage("--paper \"" + texts[0] + "\"", "is no paper that sheets are made for", "give A4 or Letter");
}

/// Of lists with commas between and of single names.
Texts names_in(const Texts& lists, const Texts& single) {
    Texts names = split(lists);
    names.insert(names.end(), single.begin(), single.end());
    return names;
}

}  // namespace

Result<Request> parse_export(const Texts& arguments) {
    Parser parser("export", false, false);
    Texts file, targets, target, what, card, workbook;
    ExportRequest request;
    parser.positional("FILE", file, "Where to write: .csv, .json, .cxf or .icc");
    parser.option("targets", "A,B,...", targets, "Only these targets (and, in JSON and CSV, what was read of them)");
    parser.option("target", "NAME", target, "Only this target, whose name may hold commas. May be repeated");
    parser.option("what", "targets|readings|cards", what, "What a CSV file is to hold (targets if not said)");
    parser.option("card", "NAME", card, "A CSV file with this card's spectrum: nm,reflectance");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] : {std::pair{"--what", &what}, {"--card", &card}, {"--workbook", &workbook}}) parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (file.size() != 1) return usage("export", file.empty() ? "names no file to write" : "writes one file", "write swatchwright export FILE.json");
    const auto format = exchange_format(file[0]);
    if (!format) return usage("\"" + file[0] + "\"", "has no ending that is known", "end it in .csv, .json, .cxf or .icc");
    request.out = file[0];
    request.format = *format;
    request.targets = names_in(targets, target);
    if (*format != ExchangeFormat::csv && !(what.empty() && card.empty()))
        return usage("export", "--what and --card are for CSV files", "leave them out, or end the file in .csv");
    if (!what.empty()) request.what = what[0];
    if (request.what != "targets" && request.what != "readings" && request.what != "cards")
        return usage("--what \"" + request.what + "\"", "is nothing that a workbook holds", "give targets, readings or cards");
    if (!card.empty()) request.card = card[0];
    return in_workbook(std::move(request), workbook);
}

Result<Request> parse_import(const Texts& arguments) {
    Parser parser("import", false, true);
    Texts file, map, under, observer, sd, kind, workbook;
    ImportRequest request;
    parser.positional("FILE", file, "What to read: .csv, .json or .cxf");
    parser.option("map", "COLUMN=MEANING,...", map, "Which columns of a CSV file mean what. May be repeated");
    parser.option("under", "LIGHT", under, "The light that a CSV file's colors are stated for, where it does not say (D50)");
    parser.option("observer", "2|10", observer, "CIE standard observer, degrees, where it does not say (2)");
    parser.option("sd", "S", sd, "Standard deviation in each of L*, a*, b*, where the file has none (0.5 is assumed if not said)");
    parser.option("kind", "KIND", kind, "chip, published, instrument or screen, where a CSV file does not say (instrument)");
    parser.flag("rename", request.rename, "Give a color whose name is taken another one: NAME (2)");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] :
         {std::pair{"--under", &under}, {"--observer", &observer}, {"--sd", &sd}, {"--kind", &kind}, {"--workbook", &workbook}})
        parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (file.size() != 1) return usage("import", file.empty() ? "names no file" : "reads one file", "write swatchwright import FILE");
    const auto format = exchange_format(file[0]);
    if (!format || *format == ExchangeFormat::icc)
        return usage("\"" + file[0] + "\"", "has no ending of a file that can be read", "give a file that ends in .csv, .txt, .json or .cxf");
    request.file = file[0];
    request.format = *format;
    if (*format != ExchangeFormat::csv && !(map.empty() && under.empty() && observer.empty() && kind.empty()))
        return usage("import", "--map, --under, --observer and --kind are for CSV files", "leave them out: the file itself says all of it");
    if (*format == ExchangeFormat::json && !sd.empty()) return usage("--sd", "is for CSV and CxF files", "leave it out: the file itself says it");
    auto columns = map_of(map);
    if (!columns) return columns.error();
    request.map = *std::move(columns);
    if (!under.empty()) {
        auto lit = light_of(under[0], "--under", workbook);
        if (!lit) return lit.error();
        request.under = *std::move(lit);
    }
    const auto degrees = observer_of(observer);
    if (!degrees) return degrees.error();
    request.observer = *degrees;
    if (!sd.empty()) {
        const auto spread = number_of(sd, "--sd", kAssumedSd, 50);
        if (!spread) return spread.error();
        request.sd = *spread;
    }
    if (!kind.empty()) {
        const auto known = target_kind(kind[0]);
        if (!known) return usage("--kind \"" + kind[0] + "\"", "is not a kind of target", "give chip, published, instrument or screen");
        request.kind = *known;
    }
    return in_workbook(std::move(request), workbook);
}

Result<Request> parse_sheet(const Texts& arguments) {
    Parser parser("sheet", false, false);
    Texts words, out, paper, workbook;
    SheetRequest request;
    parser.positionals("WHAT", words,
                       "target, targets, labels, build or mix; then names of targets, for build of parts, for mix of the pot (all if none is said, "
                       "but for target and mix)");
    parser.option("out", "FILE", out, "Where to draw: .pdf or .png");
    parser.option("paper", "A4|Letter", paper, "A4 if not said");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] : {std::pair{"--out", &out}, {"--paper", &paper}, {"--workbook", &workbook}}) parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    constexpr const char* how = "write swatchwright sheet target NAME --out FILE.pdf, sheet targets, sheet labels, sheet build or sheet mix POT";
    if (words.empty()) return usage("sheet", "says not what to draw", how);
    if (words[0] == "target") {
        request.kind = SheetKind::target;
    } else if (words[0] == "labels") {
        request.kind = SheetKind::labels;
    } else if (words[0] == "build") {
        request.kind = SheetKind::build;
    } else if (words[0] == "mix") {
        request.kind = SheetKind::mix;
    } else if (words[0] != "targets") {
        return usage("sheet \"" + words[0] + "\"", "is no sheet", how);
    }
    request.names.assign(words.begin() + 1, words.end());
    if (request.kind == SheetKind::target && request.names.size() != 1)
        return usage("sheet target", request.names.empty() ? "needs the target's name" : "takes one name", how);
    if (request.kind == SheetKind::mix && request.names.size() != 1)
        return usage("sheet mix", request.names.empty() ? "needs the pot's name" : "takes one name", how);
    if (out.empty()) return usage("sheet", "names no file to write", how);
    request.out = out[0];
    if (const auto can = can_save_page(request.out, "sheet"); !can) return can.error();
    const auto sheet = paper_of(paper);
    if (!sheet) return sheet.error();
    request.paper = *sheet;
    return in_workbook(std::move(request), workbook);
}

Result<Request> parse_share(const Texts& arguments) {
    Parser parser("share", false, false);
    Texts out, targets, target, paper, workbook;
    ShareRequest request;
    parser.option("out", "FILE", out, "Where to write: .zip");
    parser.option("targets", "A,B,...", targets, "Only these targets, and what was read of them");
    parser.option("target", "NAME", target, "Only this target, whose name may hold commas. May be repeated");
    parser.option("paper", "A4|Letter", paper, "Of the sheets; A4 if not said");
    parser.option("workbook", "FILE", workbook, workbook_help());
    parser.flag("json", request.json, "One JSON object on standard output");
    for (const auto& [name, values] : {std::pair{"--out", &out}, {"--paper", &paper}, {"--workbook", &workbook}}) parser.once(name, *values);
    const auto parsed = parser.parse(arguments);
    if (!parsed) return parsed.error();
    if (*parsed) return Request{**parsed};

    if (out.empty() || !out[0].ends_with(".zip"))
        return usage("share", out.empty() ? "names no file to write" : "writes a .zip", "write swatchwright share --out FILE.zip");
    request.out = out[0];
    request.targets = names_in(targets, target);
    const auto sheet = paper_of(paper);
    if (!sheet) return sheet.error();
    request.paper = *sheet;
    return in_workbook(std::move(request), workbook);
}

}  // namespace sw::args
