// The writing half of exchange_csv.hpp.
#include <map>

#include "color/cie_data.hpp"
#include "workbook/exchange_csv.hpp"
#include "workbook/exchange_table.hpp"

namespace sw {
namespace {

std::vector<std::string> color_headings() {
    return {"lab_l", "lab_a", "lab_b", "white_x", "white_y", "white_z", "cov_ll", "cov_la", "cov_lb", "cov_aa", "cov_ab", "cov_bb"};
}
std::vector<std::string> color_cells(const Lab& color, const Eigen::Matrix3d& covariance) {
    std::vector<std::string> cells;
    for (const double figure : {color.L, color.a, color.b, color.white.X, color.white.Y, color.white.Z}) cells.push_back(shortest(figure));
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) cells.push_back(shortest(covariance(row, column)));
    }
    return cells;
}

void append(std::vector<std::string>& cells, const std::vector<std::string>& more) { cells.insert(cells.end(), more.begin(), more.end()); }

std::string cell_of(const std::optional<double>& figure) { return figure ? shortest(*figure) : ""; }

}  // namespace

std::string targets_csv(const std::vector<Target>& targets) {
    std::vector<std::string> cells{"name"};
    append(cells, color_headings());
    append(cells, {"kind", "light", "observer", "source", "created", "spectrum", "caution", "lch_c", "lch_h", "lrv", "srgb"});
    std::string text = comma_row(cells);
    for (const Target& target : targets) {
        cells = {target.name};
        append(cells, color_cells(target.lab, target.lab_covariance));
        const Lch polar = lch(target.lab);
        append(cells, {to_word(target.kind), target.light, target.observer == Observer::degree10 ? "10" : "2", target.source, target.created,
                       target.spectrum, target.caution, shortest(polar.C), shortest(polar.h), shortest(xyz(target.lab).Y),
                       hex(screen_color(target.lab).rgb)});
        text += comma_row(cells);
    }
    return text;
}

std::string readings_csv(const std::vector<KeptReading>& readings, const std::vector<Target>& targets) {
    std::map<std::int64_t, std::string> names;
    for (const Target& target : targets) names[target.id] = target.name;
    std::vector<std::string> cells{"name", "target"};
    append(cells, color_headings());
    append(cells, {"light", "photo_file", "photo_hash", "region", "de00", "ci_low", "ci_high", "verdict", "created"});
    std::string text = comma_row(cells);
    for (const KeptReading& reading : readings) {
        const auto judged = reading.target ? names.find(*reading.target) : names.end();
        cells = {reading.name, judged == names.end() ? "" : judged->second};
        append(cells, color_cells(reading.lab, reading.lab_covariance));
        append(cells, {reading.light, reading.photo_file, reading.photo_hash, reading.region, cell_of(reading.de00), cell_of(reading.ci_low),
                       cell_of(reading.ci_high), reading.verdict, reading.created});
        text += comma_row(cells);
    }
    return text;
}

std::string cards_csv(const std::vector<Card>& cards) {
    std::string text = comma_row({"name", "kind", "lrv", "lab_l", "lab_a", "lab_b", "spectrum", "sd", "sd_assumed", "source", "created"});
    for (const Card& card : cards) {
        const auto* lrv = std::get_if<Lrv>(&card.value);
        const auto* color = std::get_if<Lab>(&card.value);
        const auto* spectrum = std::get_if<SpectrumText>(&card.value);
        std::vector<std::string> cells{card.name, lrv != nullptr ? "lrv" : color != nullptr ? "lab" : "spectrum"};
        append(cells, {lrv != nullptr ? shortest(lrv->value) : "", color != nullptr ? shortest(color->L) : "",
                       color != nullptr ? shortest(color->a) : "", color != nullptr ? shortest(color->b) : "",
                       spectrum != nullptr ? spectrum->csv : "", shortest(card.sd), card.sd_assumed ? "1" : "0", card.source, card.created});
        text += comma_row(cells);
    }
    return text;
}

}  // namespace sw
