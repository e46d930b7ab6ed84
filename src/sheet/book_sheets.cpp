#include "sheet/book_sheets.hpp"

#include "sheet/build_plan.hpp"
#include "sheet/pot_card.hpp"
#include "workbook/verify.hpp"

namespace sw {
namespace {

Error empty_book(const Workbook& workbook, const std::string& what) {
    return {Fault::name_unknown, workbook.path().string(), "", "holds no " + what + " to draw", "add one with swatchwright " + what + " add"};
}

/// The photo that a target came from, where it still is; what there is to say of it goes into `messages`.
std::optional<TargetPlace> place_of(const Workbook& workbook, const Target& target, std::vector<std::string>& messages) {
    const auto named = photo_place(target.source);
    if (!named) return std::nullopt;
    std::string file = named->file;
    const auto readings = workbook.readings();
    const auto photos = workbook.photos();
    if (readings && photos) {  // the reading that made the target knows its photo better: by its content
        for (const KeptReading& reading : *readings) {
            if (reading.target != target.id || reading.region != to_text(named->region)) continue;
            if (const auto found = whereabouts(reading.photo_file, reading.photo_hash, workbook, *photos)) file = *found;
        }
    }
    const auto photo = load_photo(file, Transfer{});
    auto place = photo ? target_place(*photo, named->region) : std::nullopt;
    if (!place) messages.push_back("the card is drawn without its photo: " + (photo ? named->file + " is another one now" : describe(photo.error())));
    return place;
}

Result<Sheet> of_targets(const Workbook& workbook, SheetKind kind, const std::vector<Target>& targets, const Paper& paper, const std::string& path,
                         std::vector<std::string>& messages) {
    if (kind == SheetKind::target) return target_card(targets.front(), paper, path, place_of(workbook, targets.front(), messages));
    if (kind == SheetKind::labels) return target_labels(targets, paper, path);
    return target_list(targets, "Targets of " + workbook.path().filename().string(), paper, path);
}

/// Names whose letters no font here has, said once.
void say_boxes(const std::vector<std::string>& names, std::vector<std::string>& messages) {
    std::size_t odd = 0;
    std::string first;
    for (const std::string& name : names) {
        if (letters_without_font(name) == 0) continue;
        if (odd++ == 0) first = name;
    }
    if (odd == 0) return;
    messages.push_back("no font of this computer has all letters of \"" + first + "\"" +
                       (odd > 1 ? " and " + std::to_string(odd - 1) + " other name" + (odd > 2 ? "s" : "") : "") +
                       ": boxes stand for them; install one for that script and draw the sheet again (Debian: fonts-noto, fonts-noto-cjk)");
}

Result<BookSheet> of_parts(const Workbook& workbook, const std::vector<std::string>& names, const Paper& paper, const std::string& path) {
    const auto parts = workbook.parts();
    if (!parts) return parts.error();
    const auto targets = workbook.targets();
    if (!targets) return targets.error();
    if (parts->empty()) return empty_book(workbook, "part");
    std::vector<std::int64_t> of;
    std::string title = "Build plan of " + workbook.path().filename().string();
    for (const std::string& name : names) {
        const auto part = workbook.part(name);
        if (!part) return part.error();
        of.push_back(part->id);
        title = of.size() == 1 ? "Build plan: " + part->name : title + ", " + part->name;
    }
    auto plan = build_plan(*parts, *targets, of, title, paper, path);
    if (!plan) return plan.error();
    BookSheet sheet{*std::move(plan), 0, 0, 0, {}};
    sheet.parts = sheet.drawn.rows;
    std::vector<std::string> written;
    for (const Part& part : *parts) written.push_back(part.name);
    for (const Target& target : *targets) written.push_back(target.name);
    say_boxes(written, sheet.messages);
    return sheet;
}

Result<BookSheet> of_pot(const Workbook& workbook, const std::string& name, const Paper& paper, const std::string& path) {
    const auto pot = workbook.pot(name);
    if (!pot) return pot.error();
    const auto book = mix_book(workbook);
    if (!book) return book.error();
    const auto sheet = pot_sheet(*book, *pot);
    if (!sheet) return sheet.error();
    auto drawn = pot_card(*sheet, *book, paper, path);
    if (!drawn) return drawn.error();
    BookSheet made{*std::move(drawn), 0, 0, 1, {}};
    if (sheet->lights.empty()) made.messages.push_back("how it looks under other lights is not on it: " + sheet->no_lights);
    std::vector<std::string> written{pot->name};
    for (const PotSheet::Line& line : sheet->lines) written.push_back(line.paint);
    say_boxes(written, made.messages);
    return made;
}

}  // namespace

Result<BookSheet> book_sheet(const Workbook& workbook, SheetKind kind, const std::vector<std::string>& names, const Paper& paper,
                             const std::string& path) {
    if (kind == SheetKind::build) return of_parts(workbook, names, paper, path);
    if (kind == SheetKind::mix && names.size() != 1) return Error{Fault::bad_usage, "", "sheet mix", "is drawn of one pot", "name one"};
    if (kind == SheetKind::mix) return of_pot(workbook, names.front(), paper, path);
    std::vector<Target> targets;
    if (names.empty()) {
        auto all = workbook.targets();
        if (!all) return all.error();
        targets = *std::move(all);
    }
    for (const std::string& name : names) {
        auto target = workbook.target(name);
        if (!target) return target.error();
        targets.push_back(*std::move(target));
    }
    if (targets.empty()) return empty_book(workbook, "target");
    BookSheet sheet;
    sheet.targets = targets.size();
    auto drawn = of_targets(workbook, kind, targets, paper, path, sheet.messages);
    if (!drawn) return drawn.error();
    sheet.drawn = *std::move(drawn);
    std::vector<std::string> written;
    for (const Target& target : targets) written.push_back(target.name);
    say_boxes(written, sheet.messages);
    return sheet;
}

}  // namespace sw
