#include "viewer/words.hpp"

#include <charconv>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <tuple>

#include "sheet/figures.hpp"
#include "sheet/pair_words.hpp"

namespace sw::window {

std::string one_decimal(double value) {
    if (!std::isfinite(value)) return "unknown";
    std::array<char, 64> text{};
    std::snprintf(text.data(), text.size(), "%.1f", std::clamp(value, -1e9, 1e9));
    const std::string result = text.data();
    if (result == "-0.0") return "0.0";
    return result.front() == '-' ? "−" + result.substr(1) : result;
}

std::string signed_decimal(double value) {
    const std::string text = one_decimal(value);
    return text == "unknown" || text == "0.0" || text.starts_with("−") ? text : "+" + text;
}

std::string plus_minus(double sd) { return "± " + (std::isfinite(sd) && sd >= 0 ? one_decimal(sd) : std::string("unknown")); }

std::string true_minus(std::string figure) {
    if (figure.starts_with('-')) figure.replace(0, 1, "−");
    return figure;
}

std::string range(const Interval& interval) { return sw::range(interval.low, interval.high); }

std::string shortest(double value) {
    std::array<char, 64> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value);
    return {text.data(), end.ptr};
}

std::string file_name(const std::string& path) { return std::filesystem::path(path).filename().string(); }

std::string marked_word(Verdict verdict) {
    switch (verdict) {
        case Verdict::within:
            return "✓ within";
        case Verdict::outside:
            return "✗ outside";
        case Verdict::not_resolved:
            return "? not resolved";
    }
    return {};
}

std::string marked_verdict(const std::string& word) {
    for (const Verdict verdict : {Verdict::within, Verdict::outside, Verdict::not_resolved}) {
        if (word == to_word(verdict)) return marked_word(verdict);
    }
    return word;
}

std::string part_mark(PartStatus status) {
    switch (status) {
        case PartStatus::missing:
            return "?";
        case PartStatus::target:
            return "○";
        case PartStatus::mixing:
            return "◐";
        case PartStatus::within:
            return "✓";
        case PartStatus::painted:
            return "■";
        case PartStatus::coated:
            break;
    }
    return "◆";
}

VerdictWords verdict_words(const Difference& d) {
    VerdictWords words{difference_figure(d.de00, d.ci95),
                       range(d.ci95),
                       marked_word(d.verdict),
                       "Swatch: " + d.words,
                       {},
                       {},
                       {},
                       {},
                       d.thresholds.empty() ? "" : thresholds_sentence(d)};
    if (d.verdict == Verdict::not_resolved)
        words.reaches = "The range reaches over your tolerance of " + brief(d.tolerance) + ".";
    else
        words.verdict += " " + brief(d.tolerance);
    for (const auto& [name, value, sd] : {std::tuple{"ΔL* ", d.dL, d.dL_sd}, std::tuple{"ΔC* ", d.dC, d.dC_sd}, std::tuple{"ΔH* ", d.dH, d.dH_sd}})
        words.steps += (words.steps.empty() ? "" : "  ") + (name + measured(value, sd));
    if (!d.largest_error.empty()) words.doubt = "Most of the doubt: " + d.largest_error + ".";
    if (!d.advice.empty()) words.advice = first_capital(d.advice) + ".";
    return words;
}

std::string title(Mark mark, std::size_t index) {
    const std::string number = index == 0 ? "" : " " + std::to_string(index + 1);
    switch (mark) {
        case Mark::none:
            return {};
        case Mark::gray:
            return "Gray card" + number;
        case Mark::chart:
            return "24-patch chart";
        case Mark::chip:
            return "Chip";
        case Mark::swatch:
            return "Swatch";
        case Mark::known:
            return "Known chip" + number;
    }
    return {};
}

std::string transfer_text(const Transfer& transfer) {
    switch (transfer.kind) {
        case TransferKind::automatic:
            return "auto";
        case TransferKind::srgb:
            return "srgb";
        case TransferKind::linear:
            return "linear";
        case TransferKind::bt1886:
            return "bt1886";
        case TransferKind::gamma:
            return "gamma:" + shortest(transfer.gamma);
    }
    return {};
}

std::string cause_of(const Error& error) {
    Error without = error;
    without.remedy.clear();
    without.file = file_name(error.file);
    return describe(without);
}

std::string first_capital(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() = static_cast<char>(text.front() - 'a' + 'A');
    return text;
}

namespace {

bool has_white(const Work& work) {
    return !work.references.grays.empty() || work.references.chart.mode != ChartMode::none || !work.references.known.empty();
}

}  // namespace

StepState step_state(int step, const Work& work, const Results& results, const Shelf& shelf) {
    switch (step) {
        case 1:
            if (results.photo_error) return {false, true, "cannot be read any more"};
            if (work.photo.empty()) return {false, false, "none yet: drop one here"};
            return {true, false, file_name(work.photo)};
        case 2:
            if (results.calibration_error) return {false, true, cause_of(*results.calibration_error)};
            if (!has_white(work)) return {false, false, "not set: colors as the camera gave them"};
            if (!results.calibration) return {false, false, "being worked out"};
            return {true, false, results.calibration->method};
        case 3:
            if (results.match_error) return {false, true, cause_of(*results.match_error)};
            if (work.chip && work.swatch) return {true, false, "chip and swatch marked"};
            if (work.chip) return {false, false, "chip marked, swatch missing"};
            if (work.swatch) return {false, false, "swatch marked, chip missing"};
            return {false, false, "chip and swatch to be marked"};
        case 4:
            if (results.comparison)
                return {true, false,
                        "ΔE00 " + figure_with_range(results.comparison->difference.de00, results.comparison->difference.ci95) + ", " +
                            to_word(results.comparison->difference.verdict),
                        marked_word(results.comparison->difference.verdict).substr(0, marked_word(results.comparison->difference.verdict).find(' '))};
            return {false, false, "tolerance ΔE00 " + one_decimal(work.tolerance)};
        case 5: {
            const auto count = [](std::size_t n, const std::string& one) { return std::to_string(n) + " " + one + (n == 1 ? "" : "s"); };
            if (shelf.targets.empty() && shelf.readings.empty()) return {false, false, "nothing kept yet"};
            return {true, false, count(shelf.targets.size(), "target") + ", " + count(shelf.readings.size(), "reading")};
        }
        default:
            return {};
    }
}

int next_step(const Work& work, const Results& results) {
    if (work.photo.empty() || results.photo_error) return 1;
    if (!has_white(work) || results.calibration_error) return 2;
    if (!work.chip || !work.swatch || results.match_error) return 3;
    return 4;
}

Mark tool_for_next_step(const Work& work, const Results& results) {
    if (!results.photo) return Mark::none;
    switch (next_step(work, results)) {
        case 2:
            return results.calibration_error ? Mark::none : Mark::gray;
        case 3:
            return !work.chip ? Mark::chip : !work.swatch ? Mark::swatch : Mark::none;
        default:
            return Mark::none;
    }
}

std::string next_hint(const Work& work, const Results& results, const View& view) {
    if (view.drag) return "Let go to set it. Esc gives up.";
    if (view.tool == Mark::chart) return "Drag from the dark skin patch to the black patch, then pull the corners onto the chart. Esc gives up.";
    if (view.tool != Mark::none)
        return "Drag a" + std::string(view.ellipse ? "n ellipse" : " box") + " over the " +
               (view.tool == Mark::gray    ? "gray card"
                : view.tool == Mark::known ? "known chip"
                : view.tool == Mark::chip  ? "chip"
                                           : "swatch") +
               ". E changes box and ellipse, Esc gives up.";
    if (view.selected.mark != Mark::none)
        return title(view.selected.mark, view.selected.index) + ": arrow keys move it by 1 px (Shift 10), Delete removes it, Esc leaves it.";
    if (view.page == Page::workbook) return "Up and down pick a line, Ctrl+F finds, Delete removes, Ctrl+Z undoes. F7 goes back to the picture.";
    switch (next_step(work, results)) {
        case 1:
            return "Next: drop a photo on the window, or press Ctrl+O and type its path.";
        case 2:
            return "Next: press G and drag a box over the gray card, or Shift+H to find a 24-patch chart.";
        case 3:
            return !work.chip ? "Next: press C and drag a box over the chip." : "Next: press S and drag a box over the swatch.";
        default:
            return results.comparison ? "Read the verdict on the right. K keeps the chip as a target; F1 shows all keys."
                                      : "Working out the match ...";
    }
}

}  // namespace sw::window
