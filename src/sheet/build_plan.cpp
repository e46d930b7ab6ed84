#include "sheet/build_plan.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "sheet/figures.hpp"
#include "sheet/page_parts.hpp"

namespace sw {
namespace {

constexpr double kPlanPad = 7, kPlanIndent = 13, kPlanGap = 12;
constexpr int kDeepestIndent = 8;  // deeper ones are not indented further
constexpr std::array kPartStatuses{PartStatus::missing, PartStatus::target,  PartStatus::mixing,
                                   PartStatus::within,  PartStatus::painted, PartStatus::coated};

struct PlanRow {
    const Part* part;
    const Target* target = nullptr;
    int depth = 0;
    double height = 0;
};

class PartTree {
public:
    PartTree(const std::vector<Part>& parts, const std::vector<Target>& targets) {
        for (const Target& target : targets) targets_[target.id] = &target;
        std::set<std::int64_t> ids;
        for (const Part& part : parts) ids.insert(part.id);
        for (const Part& part : parts) inside_[part.parent && ids.contains(*part.parent) ? *part.parent : 0].push_back(&part);
        for (auto& [parent, list] : inside_)
            std::stable_sort(list.begin(), list.end(), [](const Part* one, const Part* two) { return one->name < two->name; });
    }

    std::vector<PlanRow> rows(const std::vector<Part>& parts, const std::vector<std::int64_t>& of) {
        std::vector<PlanRow> found;
        if (of.empty()) {
            for (const Part* part : inside_[0]) add(*part, 0, found);
            for (const Part& part : parts) add(part, 0, found);  // those in a ring, which a damaged file may hold
        }
        for (const std::int64_t id : of) {
            const auto part = std::find_if(parts.begin(), parts.end(), [&](const Part& one) { return one.id == id; });
            if (part != parts.end()) add(*part, 0, found);
        }
        return found;
    }

private:
    void add(const Part& part, int depth, std::vector<PlanRow>& rows) {
        if (!seen_.insert(part.id).second) return;
        const auto wears = part.target ? targets_.find(*part.target) : targets_.end();
        rows.push_back({&part, wears == targets_.end() ? nullptr : wears->second, std::min(depth, kDeepestIndent)});
        for (const Part* child : inside_[part.id]) add(*child, depth + 1, rows);
    }

    std::map<std::int64_t, const Target*> targets_;
    std::map<std::int64_t, std::vector<const Part*>> inside_;  // 0: at the outside
    std::set<std::int64_t> seen_;
};

/// Five boxes, as many filled as steps are done: the same in black and white.
void draw_steps(Pen& pen, double x, double y, PartStatus status) {
    constexpr double kSide = 7, kStep = 10;
    for (std::size_t i = 0; i + 1 < kPartStatuses.size(); ++i) {
        const PageBox box{x + static_cast<double>(i) * kStep, y, kSide, kSide};
        if (i < static_cast<std::size_t>(status)) pen.fill(box, kInk);
        pen.frame(box, kInk, 0.75);
    }
}

struct PlanColumns {
    double part, part_width, patch, target, target_width, status, status_width;
};

PlanColumns plan_columns(const Paper& paper) {
    const double inner = paper.width - 2 * kSheetMargin;
    const double status_width = 92, patch = 30, part_width = 0.36 * (inner - status_width - patch);
    const double at_patch = kSheetMargin + part_width + kPlanGap, at_target = at_patch + patch + kPlanGap,
                 at_status = paper.width - kSheetMargin - status_width;
    return {kSheetMargin, part_width, at_patch, at_target, at_status - kPlanGap - at_target, at_status, status_width};
}

/// Draws a row, or only says how high it is.
double plan_row(Pen& pen, const Paper& paper, double y, const PlanRow& row, bool draw) {
    const PlanColumns at = plan_columns(paper);
    const double indent = row.depth * kPlanIndent;
    const auto write = [&](double x, double top, const std::string& text, const Writing& how) {
        return draw ? pen.write(x, top, text, how) : pen.measure(text, how).height;
    };
    const double top = y + kPlanPad;
    const bool project = row.depth == 0, bare = project && row.target == nullptr && row.part->status == PartStatus::missing;
    const double width = (bare ? paper.width - 2 * kSheetMargin : at.part_width) - indent;
    double left = top;
    left += write(at.part + indent, left, row.part->name,
                  fitted_writing(pen, row.part->name, {.bold = project}, {0, 0, width, 60}, {project ? 11.5 : 10.5, 9, 8}));
    if (!row.part->note.empty())
        left +=
            2 + write(at.part + indent, left + 2, row.part->note, fitted_writing(pen, row.part->note, {.ink = kPaleInk}, {0, 0, width, 44}, {8, 7}));
    double middle = top;
    if (row.target != nullptr) {
        const TargetWords words = target_words(*row.target);
        if (draw) draw_patch(pen, {at.patch, top, 30, 26}, words);
        middle +=
            write(at.target, middle, row.target->name, fitted_writing(pen, row.target->name, {}, {0, 0, at.target_width, 44}, {10, 8.5, 7.5})) + 1;
        middle +=
            write(at.target, middle, "L* " + words.L + "   a* " + words.a + "   b* " + words.b, {.size = 7.5, .width = at.target_width, .lines = 3});
        middle +=
            write(at.target, middle, "LRV " + words.lrv + " · " + words.conditions + " · " + words.kind + (words.in_gamut ? "" : " · beyond sRGB"),
                  {.size = 7, .ink = kPaleInk, .width = at.target_width, .lines = 3});
        middle = std::max(middle, top + 28);
    } else if (!bare) {
        middle += write(at.target, middle, "no color named yet", {.size = 8.5, .ink = kPaleInk, .width = at.target_width});
    }
    double right = top;
    if (!bare) {
        if (draw) draw_steps(pen, at.status, top + 2, row.part->status);
        right += 14 + write(at.status, top + 13, status_words(row.part->status), {.size = 8.5, .width = at.status_width, .lines = 2});
    }
    const double bottom = std::max({left, middle, right}) + kPlanPad;
    if (draw) pen.line(kSheetMargin, bottom, paper.width - kSheetMargin, bottom, kGridInk, project ? 1 : 0.5);
    return bottom - y;
}

std::string plan_counts(const std::vector<PlanRow>& rows) {
    std::map<PartStatus, int> counts;
    int of = 0;
    for (const PlanRow& row : rows) {
        if (row.depth == 0 && row.target == nullptr && row.part->status == PartStatus::missing) continue;  // a project by itself is nothing to paint
        ++counts[row.part->status];
        ++of;
    }
    std::string text = std::to_string(of) + (of == 1 ? " part" : " parts");
    for (const PartStatus status : kPartStatuses) {
        if (counts[status] > 0)
            text += (text.find(':') == std::string::npos ? ": " : ", ") + std::to_string(counts[status]) + " " + status_words(status);
    }
    return text;
}

double plan_top(Pen& pen, const Paper& paper, const std::string& title, const std::string& counts, std::size_t page, bool draw) {
    double y = kSheetMargin + 24;
    if (page > 0) return y;
    const double width = paper.width - 2 * kSheetMargin;
    const Writing head = fitted_writing(pen, title, {.bold = true}, {0, 0, width, 60}, {22, 18, 15, 12});
    const Writing pale{.size = 10, .ink = kPaleInk, .width = width, .lines = 2};
    y += (draw ? pen.write(kSheetMargin, y, title, head) : pen.measure(title, head).height) + 2;
    return y + (draw ? pen.write(kSheetMargin, y, counts, pale) : pen.measure(counts, pale).height) + 10;
}

std::string plan_note() {
    return std::string(kPrintNote) +
           " ± is one standard deviation. Spray only with extraction or outdoors and with a respirator fit for the paint's solvent; read "
           "its safety data sheet; never mix unlike binders untested.";
}

}  // namespace

std::string status_words(PartStatus status) {
    switch (status) {
        case PartStatus::missing:
            return "reference missing";
        case PartStatus::target:
            return "target known";
        case PartStatus::mixing:
            return "being mixed";
        case PartStatus::within:
            return "within tolerance";
        case PartStatus::painted:
            return "painted";
        case PartStatus::coated:
            break;
    }
    return "coated";
}

Result<Sheet> build_plan(const std::vector<Part>& parts, const std::vector<Target>& targets, const std::vector<std::int64_t>& of,
                         const std::string& title, const Paper& paper, const std::string& path) {
    std::vector<PlanRow> rows = PartTree(parts, targets).rows(parts, of);
    const std::string note = plan_note(), counts = plan_counts(rows);
    std::vector<std::size_t> first{0};  // row of each page
    static_cast<void>(draw_picture(1, 1, [&](Pen& pen) {
        const double bottom = paper.height - kSheetMargin - page_foot_height(pen, paper, note);
        double y = plan_top(pen, paper, title, counts, 0, false);
        for (std::size_t i = 0; i < rows.size(); ++i) {
            rows[i].height = plan_row(pen, paper, 0, rows[i], false);
            if (y + rows[i].height > bottom && i > first.back()) {
                first.push_back(i);
                y = plan_top(pen, paper, title, counts, 1, false);
            }
            y += rows[i].height;
        }
    }));
    const auto draw = [&](Pen& pen, std::size_t page) {
        draw_page_head(pen, paper, page == 0 ? "Build plan" : title, "Swatchwright");
        double y = plan_top(pen, paper, title, counts, page, true);
        const std::size_t end = page + 1 < first.size() ? first[page + 1] : rows.size();
        for (std::size_t i = first[page]; i < end; ++i) y += plan_row(pen, paper, y, rows[i], true);
        draw_page_foot(pen, paper, note, "page " + std::to_string(page + 1) + " of " + std::to_string(first.size()));
    };
    auto files = draw_pages(path, title, paper, first.size(), draw);
    if (!files) return files.error();
    return Sheet{*std::move(files), first.size(), rows.size()};
}

}  // namespace sw
