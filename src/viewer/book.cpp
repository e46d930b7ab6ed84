#include "viewer/book.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "sheet/book_files.hpp"
#include "sheet/file.hpp"
#include "viewer/line_words.hpp"
#include "viewer/words.hpp"
#include "workbook/nearest.hpp"

namespace sw::window {

// --- searching --------------------------------------------------------------------------------------------------------------------------

Result<Search> parse_search(const std::string& text, const Results& results) {
    const auto words = words_of(text);
    if (!words) return words.error();
    Search search;
    for (std::size_t i = 0; i < words->size(); ++i) {
        const std::string& word = (*words)[i];
        if (word != "near" && word != "within" && word != "part" && word != "verdict" && word != "since") {
            search.question.text += (search.question.text.empty() ? "" : " ") + word;
            continue;
        }
        if (i + 1 >= words->size()) return bad_line("there is nothing behind \"" + word + "\"", "write for example near 45,10,-20 within 3");
        const std::string& value = (*words)[++i];
        if (word == "part") {
            search.part = value;
        } else if (word == "verdict") {
            search.question.verdict = value == "unresolved" ? "not resolved" : value;
        } else if (word == "since") {
            search.question.since = value;
        } else if (word == "within") {
            const auto within = number(value);
            if (!within || !(*within > 0 && *within <= 100))
                return bad_line("a distance is above 0 and at most 100", "write for example within 3", value);
            search.question.within = *within;
        } else if (value == "chip" || value == "swatch") {
            const auto& reading = value == "chip" ? results.chip : results.swatch;
            if (!reading) return bad_line("there is no reading of the " + value + " yet", "mark it in the picture first", "near " + value);
            search.question.near = under_d50(reading->lab);
        } else {
            const auto lab = numbers(value, 3);
            if (!lab) return bad_line("behind near stand L*, a*, b* with commas between", "write for example near 45,10,-20, or near chip", value);
            search.question.near = Lab{.L = (*lab)[0], .a = (*lab)[1], .b = (*lab)[2]};
        }
    }
    return search;
}

Result<Hits> search_book(const Workbook& workbook, const Search& search) {
    Question question = search.question;
    if (!search.part.empty()) {
        const auto part = workbook.part(search.part);
        if (!part) return part.error();
        question.part = part->id;
    }
    const auto found = find(workbook, question);
    if (!found) return found.error();
    Hits hits;
    const auto add = [](auto& list, std::int64_t id, const std::optional<Distance>& distance) {
        if (std::none_of(list.begin(), list.end(), [&](const auto& one) { return one.first == id; })) list.emplace_back(id, distance);
    };
    for (const auto& hit : found->targets) hits.targets.emplace_back(hit.item.id, hit.distance);
    for (const auto& hit : found->readings) hits.readings.emplace_back(hit.item.id, hit.distance);
    for (const Part& part : found->parts) hits.parts.push_back(part.id);
    for (const Note& note : found->notes) {
        if (note.target) add(hits.targets, *note.target, {});
        if (note.reading) add(hits.readings, *note.reading, {});
        if (note.part && std::find(hits.parts.begin(), hits.parts.end(), *note.part) == hits.parts.end()) hits.parts.push_back(*note.part);
    }
    return hits;
}

// --- lists ------------------------------------------------------------------------------------------------------------------------------

namespace {

template <class T>
std::vector<BookLine> colors_in_order(const std::vector<T>& rows, Order order, bool by_name) {
    std::vector<BookLine> lines(rows.size());
    for (std::size_t i = 0; i < rows.size(); ++i) lines[i].place = i;
    const auto sort = [&](auto before) {
        std::stable_sort(lines.begin(), lines.end(), [&](const BookLine& a, const BookLine& b) { return before(rows[a.place], rows[b.place]); });
    };
    if (order == Order::lightness) sort([](const T& a, const T& b) { return a.lab.L < b.lab.L; });
    if (order == Order::newest) sort([](const T& a, const T& b) { return a.created > b.created; });
    if (order == Order::name && !by_name) sort([](const T& a, const T& b) { return a.name < b.name; });
    return lines;
}

template <class T>
std::vector<BookLine> colors_found(const std::vector<T>& rows, const std::vector<std::pair<std::int64_t, std::optional<Distance>>>& hits) {
    std::map<std::int64_t, std::size_t> places;
    for (std::size_t i = 0; i < rows.size(); ++i) places.emplace(rows[i].id, i);
    std::vector<BookLine> lines;
    for (const auto& [id, distance] : hits) {
        if (const auto at = places.find(id); at != places.end()) lines.push_back({at->second, 0, distance});
    }
    return lines;
}

/// Parts under their parents, each level by name as the shelf has them. Those whose parent is not there stand at the outside; rings end.
std::vector<BookLine> part_tree(const std::vector<Part>& parts) {
    std::set<std::int64_t> there;
    for (const Part& part : parts) there.insert(part.id);
    std::map<std::int64_t, std::vector<std::size_t>> inside;  // 0: outside
    for (std::size_t i = 0; i < parts.size(); ++i) inside[parts[i].parent && there.contains(*parts[i].parent) ? *parts[i].parent : 0].push_back(i);
    std::vector<BookLine> lines;
    std::vector<std::pair<std::size_t, int>> open;
    const auto put = [&](std::int64_t parent, int depth) {
        const auto& children = inside[parent];
        for (auto child = children.rbegin(); child != children.rend(); ++child) open.emplace_back(*child, depth);
    };
    put(0, 0);
    while (!open.empty()) {
        const auto [place, depth] = open.back();
        open.pop_back();
        lines.push_back({place, depth, {}});
        put(parts[place].id, depth + 1);
    }
    return lines;
}

}  // namespace

std::vector<BookLine> book_lines(const Shelf& shelf, const BookView& view, const Hits* hits) {
    switch (view.list) {
        case List::targets:
            return hits != nullptr ? colors_found(shelf.targets, hits->targets) : colors_in_order(shelf.targets, view.order, true);
        case List::readings:
            return hits != nullptr ? colors_found(shelf.readings, hits->readings) : colors_in_order(shelf.readings, view.order, false);
        case List::photos: {
            std::vector<BookLine> lines;
            if (hits != nullptr) return lines;  // photos have neither words nor colors of their own
            for (std::size_t i = 0; i < shelf.photos.size(); ++i) lines.push_back({i, 0, {}});
            if (view.order == Order::name)
                std::stable_sort(lines.begin(), lines.end(), [&](const BookLine& a, const BookLine& b) {
                    return file_name(shelf.photos[a.place].path) < file_name(shelf.photos[b.place].path);
                });
            return lines;
        }
        case List::pots: {
            std::vector<BookLine> lines;
            if (hits != nullptr || !shelf.mix) return lines;
            for (std::size_t i = 0; i < shelf.mix->pots.size(); ++i) lines.push_back({i, 0, {}});
            if (view.order == Order::name)
                std::stable_sort(lines.begin(), lines.end(),
                                 [&](const BookLine& a, const BookLine& b) { return shelf.mix->pots[a.place].name < shelf.mix->pots[b.place].name; });
            return lines;
        }
        case List::parts:
            break;
    }
    std::vector<BookLine> lines = part_tree(shelf.parts);
    if (hits != nullptr) {
        const std::set<std::int64_t> found(hits->parts.begin(), hits->parts.end());
        std::erase_if(lines, [&](const BookLine& line) { return !found.contains(shelf.parts[line.place].id); });
        for (BookLine& line : lines) line.depth = 0;
    }
    return lines;
}

std::int64_t id_of(const Shelf& shelf, List list, const BookLine& line) {
    switch (list) {
        case List::targets:
            return shelf.targets[line.place].id;
        case List::parts:
            return shelf.parts[line.place].id;
        case List::photos:
            return shelf.photos[line.place].id;
        case List::pots:
            return shelf.mix->pots[line.place].id;
        case List::readings:
            break;
    }
    return shelf.readings[line.place].id;
}

// --- files ------------------------------------------------------------------------------------------------------------------------------

namespace {

/// A program that writes over what it did not make loses somebody's work.
std::optional<Error> would_replace(const std::string& file) {
    std::error_code ignored;
    if (!std::filesystem::exists(file, ignored)) return std::nullopt;
    return Error{Fault::file_unwritable, file, "", "is there already", "type another name, or move that file away"};
}

std::string unreadable_ending(const std::string& file) {
    const std::string ending = std::filesystem::path(file).extension().string();
    return ending.empty() ? "has no ending that says what it is" : "ends with " + ending + ", which stands for none of the formats";
}

struct Runner {
    const std::filesystem::path& book;
    const Paper& paper;
    std::stop_token stop;
    const Report& report;

    [[nodiscard]] Result<JobDone> operator()(const ExportTo& job) const {
        const auto format = exchange_format(job.file);
        if (!format) return Error{Fault::bad_usage, job.file, "", unreadable_ending(job.file), "use .csv, .json, .cxf or .icc"};
        if (const auto there = would_replace(job.file)) return *there;
        const auto all = content();
        if (!all) return all.error();
        const auto file = exported(*all, {*format, job.file, book.string(), "targets", ""});
        if (!file) return file.error();
        return written(job.file, file->bytes, {"Wrote " + in_words(file->written) + " into " + job.file, notes_of(*file), {}, {}, {}});
    }
    [[nodiscard]] Result<JobDone> operator()(const ShareTo& job) const {
        if (std::filesystem::path(job.file).extension() != ".zip")
            return Error{Fault::bad_usage, job.file, "", "is no .zip", "let its name end with .zip"};
        if (const auto there = would_replace(job.file)) return *there;
        auto all = content();
        if (!all) return all.error();
        const auto shared = share_bundle(*std::move(all), book.string(), paper);
        if (!shared) return shared.error();
        return written(job.file, shared->bytes,
                       {"Wrote " + in_words(shared->shared) + " into " + job.file + ", without folders and the like", {}, {}, {}, {}});
    }
    [[nodiscard]] Result<JobDone> operator()(const ImportFrom& job) const {
        const auto format = exchange_format(job.file);
        if (!format || *format == ExchangeFormat::icc)
            return Error{Fault::bad_usage, job.file, "", unreadable_ending(job.file), "use .csv, .json or .cxf"};
        const auto workbook = Workbook::open(book, false);
        if (!workbook) return workbook.error();
        ImportChoice choice;
        choice.format = *format;
        if (const auto known = workbook->mappings()) choice.known = *known;
        auto incoming = imported(job.file, choice);
        if (!incoming) return incoming.error();
        const auto there = everything_in(*workbook);
        if (!there) return there.error();
        auto fresh = std::make_shared<Exchange>(fit_in(std::move(incoming->content), *there, true));
        const std::string words = in_words(counts_of(*fresh));
        JobDone done{"Took " + words + " from " + job.file, fresh->notes, {}, {}, {}};
        for (const Renamed& one : fresh->renamed) done.notes.push_back("\"" + one.from + "\" is \"" + one.to + "\" here: the name was taken");
        for (const NotTaken& one : fresh->not_taken)
            done.notes.push_back("Not taken: " + one.place + (one.place.empty() ? "" : ": ") + one.name + " " + one.reason);
        if (words != "nothing") done.incoming = std::move(fresh);
        return done;
    }
    [[nodiscard]] Result<JobDone> operator()(const DrawSheet& job) const {
        const std::string ending = std::filesystem::path(job.file).extension().string();
        if (ending != ".pdf" && ending != ".png")
            return Error{Fault::bad_usage, job.file, "", "is neither .pdf nor .png", "let its name end with .pdf for printing"};
        if (const auto there = would_replace(job.file)) return *there;
        const auto workbook = Workbook::open(book, false);
        if (!workbook) return workbook.error();
        auto sheet = book_sheet(*workbook, job.kind, job.names, paper, job.file);
        if (!sheet) return sheet.error();
        for (const DrawnFile& file : sheet->drawn.files) {
            if (const auto saved = write_file(file.name, file.bytes); !saved) return saved.error();
        }
        const std::size_t pages = sheet->drawn.pages;
        return JobDone{
            "Drew " + std::to_string(pages) + (pages == 1 ? " page" : " pages") + " into " + job.file, std::move(sheet->messages), {}, {}, {}};
    }
    [[nodiscard]] Result<JobDone> operator()(const VerifyBook&) const {
        const auto sound = look_over(book);
        if (!sound) return sound.error();
        const auto workbook = Workbook::open(book, false);
        if (!workbook) return workbook.error();
        auto again = reread(*workbook, [&](std::size_t place, std::size_t count) {
            report("Reading photos again", count == 0 ? std::nullopt : std::optional(static_cast<float>(place) / static_cast<float>(count)));
            if (stop.stop_requested()) throw Stopped();
        });
        if (!again) return again.error();
        std::array<std::size_t, 4> counts{};
        for (const RereadReading& reading : *again) ++counts[static_cast<std::size_t>(reading.outcome)];
        JobDone done;
        done.said = std::string(sound->sound() ? "The file is sound" : "THE FILE IS DAMAGED") + ". Of " + std::to_string(again->size()) +
                    (again->size() == 1 ? " reading, " : " readings, ") + std::to_string(counts[0]) +
                    " read the same again; different: " + std::to_string(counts[1]) + ", photo missing: " + std::to_string(counts[2]) +
                    ", cannot be read again: " + std::to_string(counts[3]);
        for (const BadRow& bad : sound->bad) done.notes.push_back(bad.label + " is not as it was saved");
        for (const std::string& fault : sound->structure) done.notes.push_back(fault);
        for (const RereadReading& reading : *again) {
            if (reading.outcome != Reread::same) done.notes.push_back(reading.name + ": " + reading.why);
        }
        done.reread = *std::move(again);
        return done;
    }

    struct Stopped {};

private:
    [[nodiscard]] Result<Exchange> content() const {
        const auto workbook = Workbook::open(book, false);
        if (!workbook) return workbook.error();
        return everything_in(*workbook);
    }
    [[nodiscard]] static std::vector<std::string> notes_of(const ExportedFile& file) {
        std::vector<std::string> notes = file.notes;
        for (const Renamed& one : file.renamed) notes.push_back("\"" + one.from + "\" is \"" + one.to + "\" there");
        for (const NotTaken& one : file.left_out) notes.push_back("Left out: " + one.name + " " + one.reason);
        return notes;
    }
    [[nodiscard]] static Result<JobDone> written(const std::string& file, const std::string& bytes, JobDone done) {
        if (const auto saved = write_file(file, bytes); !saved) return saved.error();
        return done;
    }
};

}  // namespace

JobDone run_job(const FileJob& job, const std::filesystem::path& workbook, const Paper& paper, std::stop_token stop, const Report& report) {
    JobDone failed;
    try {
        Result<JobDone> done = std::visit(Runner{workbook, paper, stop, report}, job);
        if (done) return *std::move(done);
        failed.error = done.error();
    } catch (const Runner::Stopped&) {
        failed.said = "Stopped before the end";
    }
    return failed;
}

std::string stage_of(const FileJob& job) {
    return std::visit(
        Overload{[](const ExportTo&) { return "Exporting"; }, [](const ImportFrom&) { return "Importing"; }, [](const ShareTo&) { return "Packing"; },
                 [](const DrawSheet&) { return "Drawing"; }, [](const VerifyBook&) { return "Checking"; }},
        job);
}

std::string free_file(const std::filesystem::path& other, const std::string& stem, const std::string& ending) {
    std::filesystem::path file;
    std::error_code ignored;
    for (int n = 1; n == 1 || std::filesystem::exists(file, ignored); ++n)
        file = other.parent_path() / (stem + (n == 1 ? "" : "-" + std::to_string(n)) + ending);
    return file.string();
}

}  // namespace sw::window
