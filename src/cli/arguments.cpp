#include "cli/arguments.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "cli/text.hpp"
#include "color/adaptation.hpp"
#include "color/munsell_value.hpp"

namespace sw {
namespace {

constexpr std::array<std::string_view, 10> kPairWords{"chip", "swatch", "gray",   "chart", "known",
                                                      "card", "setup",  "lit-by", "plain", "chart-edition"};

Error usage(const std::string& option, std::string_view text, std::string cause, std::string remedy) {
    return Error{Fault::bad_usage, "", option + " \"" + std::string(text) + "\"", std::move(cause), std::move(remedy)};
}

// A region of an option: the error's place is what the user typed.
Result<Region> region_of(std::string_view text, const std::string& role, const std::string& option, std::string_view whole) {
    auto region = parse_region(text, role);
    if (region) return region;
    Error error = region.error();
    error.place = option + " \"" + std::string(whole) + "\"";
    return error;
}

}  // namespace

Result<Lab> parse_lab(std::string_view text, const std::string& option) {
    const auto values = parse_numbers(text);
    if (!values || values->size() != 3) return usage(option, text, "is not three numbers L,a,b", "write it like 62.5,-3,18.2");
    const Lab color{(*values)[0], (*values)[1], (*values)[2]};
    if (color.L < 0 || color.L > 100) return usage(option, text, "no surface has L* " + brief(color.L), "L* goes from 0 (black) to 100 (white)");
    if (std::hypot(color.a, color.b) > 150) {
        return usage(option, text, "no surface is that colorful (chroma " + brief(std::hypot(color.a, color.b)) + ")",
                     "check the signs and the decimal points");
    }
    return color;
}

Result<GrayReference> parse_gray(std::string_view text, const std::string& option) {
    const auto equals = text.rfind('=');
    GrayReference gray;
    if (equals != std::string_view::npos) {
        const auto lrv = parse_number(text.substr(equals + 1));
        if (!lrv) return usage(option, text, "the LRV after '=' is not a number", "write REGION=LRV, like 100,20,50,50=18");
        if (*lrv <= 0 || *lrv > 100) {
            return usage(option, text, "an LRV of " + brief(*lrv) + " cannot be", "give the card's LRV, above 0 and up to 100 (18 % gray: 18)");
        }
        gray.lrv = *lrv;
    }
    auto region = region_of(text.substr(0, equals), "gray card", option, text);
    if (!region) return region.error();
    gray.region = *std::move(region);
    return gray;
}

Result<ChartReference> parse_chart(std::string_view text, const std::string& option) {
    ChartReference chart;
    if (text == "none") return chart;
    if (text == "auto") {
        chart.mode = ChartMode::automatic;
        return chart;
    }
    const auto values = parse_numbers(text);
    if (!values || values->size() != 8) {
        return usage(option, text, "is neither auto, none nor four corners",
                     "give x1,y1,x2,y2,x3,y3,x4,y4: the outer corners of dark skin, bluish green, black and white");
    }
    chart.mode = ChartMode::corners;
    for (std::size_t i = 0; i < 4; ++i) chart.corners[i] = {(*values)[2 * i], (*values)[2 * i + 1]};
    return chart;
}

Result<std::optional<ChartEdition>> parse_chart_edition(std::string_view text, const std::string& option) {
    if (text == "auto") return std::optional<ChartEdition>();
    if (text == "before-2014") return std::optional(ChartEdition::before_2014);
    if (text == "2014") return std::optional(ChartEdition::from_2014);
    return usage(option, text, "is no edition of the chart", "give before-2014, 2014 (made from November 2014 on) or auto");
}

Result<KnownReference> parse_known(std::string_view text, const std::string& option) {
    const char* remedy = "write NAME=REGION=L,a,b, like straw=10,20,50,50=80.1,2.5,31";
    const auto lab_at = text.rfind('=');
    if (lab_at == std::string_view::npos || lab_at == 0) return usage(option, text, "is not a name, a region and a color", remedy);
    const auto region_at = text.rfind('=', lab_at - 1);
    if (region_at == std::string_view::npos || trimmed(text.substr(0, region_at)).empty()) {
        return usage(option, text, "is not a name, a region and a color", remedy);
    }
    auto color = parse_lab(text.substr(lab_at + 1), option);
    if (!color) return color.error();
    KnownReference known{std::string(trimmed(text.substr(0, region_at))), {}, *color};
    auto region = region_of(text.substr(region_at + 1, lab_at - region_at - 1), known.name, option, text);
    if (!region) return region.error();
    known.region = *std::move(region);
    return known;
}

Result<NamedRegion> parse_named_region(std::string_view text, const std::string& option) {
    const auto equals = text.rfind('=');
    if (equals == std::string_view::npos || trimmed(text.substr(0, equals)).empty()) {
        return usage(option, text, "has no name", "write NAME=REGION, like chip=10,20,50,50");
    }
    NamedRegion named{std::string(trimmed(text.substr(0, equals))), {}};
    auto region = region_of(text.substr(equals + 1), named.name, option, text);
    if (!region) return region.error();
    named.region = *std::move(region);
    return named;
}

Result<PairRequest> parse_pair(std::string_view text, const FileReader& read_file, const OwnLights& own, const std::string& asked, bool chip_needed) {
    // where each ":word=" begins
    struct Part {
        std::string_view word;
        std::size_t at, value_at;
    };
    std::vector<Part> parts;
    for (std::size_t at = text.find(':'); at != std::string_view::npos; at = text.find(':', at + 1)) {
        for (const std::string_view word : kPairWords) {
            const std::string_view rest = text.substr(at + 1);
            if (rest.size() > word.size() && rest.substr(0, word.size()) == word && rest[word.size()] == '=') {
                parts.push_back({word, at, at + word.size() + 2});
            }
        }
    }
    const std::string form = "write PHOTO:chip=REGION:swatch=REGION:gray=REGION";
    PairRequest pair;
    pair.photo.file = std::string(text.substr(0, parts.empty() ? text.size() : parts.front().at));
    if (pair.photo.file.empty()) return usage(asked, text, "names no photo", form);

    std::array<int, kPairWords.size()> count{};
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const auto [word, at, value_at] = parts[i];
        const std::string_view value = text.substr(value_at, i + 1 < parts.size() ? parts[i + 1].at - value_at : std::string_view::npos);
        const std::string option = asked + " " + pair.photo.file + ": " + std::string(word) + "=";
        const int times = ++count[static_cast<std::size_t>(std::find(kPairWords.begin(), kPairWords.end(), word) - kPairWords.begin())];
        if (times > 1 && word != "gray" && word != "known" && word != "card" && word != "plain")
            return usage(option, value, "is given twice", "give it once");
        std::optional<Error> problem;
        if (word == "chip" || word == "swatch") {
            auto region = region_of(value, std::string(word), option, value);
            if (!region) {
                problem = region.error();
            } else {
                (word == "chip" ? pair.chip : pair.swatch) = *std::move(region);
            }
        } else if (word == "plain") {
            auto region = region_of(value, "plain surrounding", option, value);
            if (!region) {
                problem = region.error();
            } else {
                pair.photo.references.plain.push_back(*std::move(region));
            }
        } else if (word == "gray") {
            auto gray = parse_gray(value, option);
            if (!gray) {
                problem = gray.error();
            } else {
                pair.photo.references.grays.push_back(*std::move(gray));
            }
        } else if (word == "chart") {
            auto chart = parse_chart(value, option);
            if (!chart) {
                problem = chart.error();
            } else {
                chart->edition = pair.photo.references.chart.edition;
                pair.photo.references.chart = *chart;
                pair.photo.chart_asked = true;
            }
        } else if (word == "chart-edition") {
            auto edition = parse_chart_edition(value, option);
            if (!edition) {
                problem = edition.error();
            } else {
                pair.photo.references.chart.edition = *edition;
            }
        } else if (word == "known") {
            auto known = parse_known(value, option);
            if (!known) {
                problem = known.error();
            } else {
                pair.photo.references.known.push_back(*std::move(known));
            }
        } else if (word == "card") {
            auto card = parse_named_region(value, option);
            if (!card) {
                problem = card.error();
            } else {
                pair.photo.cards.push_back(*std::move(card));
            }
        } else if (word == "setup") {
            pair.photo.setup = std::string(trimmed(value));
            if (pair.photo.setup.empty()) problem = usage(option, value, "names no set-up", "write setup=NAME");
        } else {
            auto lit_by = light(value, read_file, own);
            if (!lit_by) {
                problem = lit_by.error();
            } else {
                pair.photo.lit_by = *std::move(lit_by);
            }
        }
        if (problem) return *problem;
    }
    for (std::size_t i = 0; i < 2; ++i) {  // chip and swatch
        if (count[i] == 0 && (i == 1 || chip_needed)) return usage(asked, text, "has no " + std::string(kPairWords[i]) + "=", form);
    }
    pair.has_chip = count[0] > 0;
    if (const auto settled = settle_chart(pair.photo); !settled) return settled.error();
    return pair;
}

Result<ColorForm> parse_color_form(std::string_view text) {
    constexpr std::array<std::pair<std::string_view, ColorForm>, 7> kForms{{{"lab", ColorForm::lab},
                                                                            {"lch", ColorForm::lch},
                                                                            {"xyz", ColorForm::xyz},
                                                                            {"srgb", ColorForm::srgb},
                                                                            {"p3", ColorForm::p3},
                                                                            {"munsell-value", ColorForm::munsell_value},
                                                                            {"lrv", ColorForm::lrv}}};
    for (const auto& [word, form] : kForms) {
        if (text == word) return form;
    }
    return usage("--from", text, "is not a way to write a color", "give lab, lch, xyz, srgb, p3, munsell-value or lrv");
}

namespace {

// Three codes 0..1 of "#rrggbb" or "r,g,b" with 0..255.
Result<std::array<double, 3>> parse_codes(std::string_view text) {
    const auto wrong = [&](std::string cause) {
        return usage("color", text, std::move(cause), "write six hexadecimal digits like #8a7f61, or three codes of 0 to 255 like 138,127,97");
    };
    std::array<double, 3> codes{};
    if (!text.empty() && text.front() == '#') {
        if (text.size() != 7) return wrong("has " + std::to_string(text.size() - 1) + " digits after the #, not six");
        for (std::size_t i = 0; i < 3; ++i) {
            unsigned code = 0;
            const char* first = text.data() + 1 + 2 * i;
            const auto [end, problem] = std::from_chars(first, first + 2, code, 16);
            if (problem != std::errc{} || end != first + 2) return wrong("holds something else than hexadecimal digits");
            codes[i] = code / 255.0;
        }
        return codes;
    }
    const auto values = parse_numbers(text);
    if (!values) return wrong("is not three numbers");
    if (values->size() != 3) return wrong("holds " + std::to_string(values->size()) + (values->size() == 1 ? " number" : " numbers") + ", not three");
    for (std::size_t i = 0; i < 3; ++i) {
        if ((*values)[i] < 0 || (*values)[i] > 255) return wrong("holds a code of " + brief((*values)[i]));
        codes[i] = (*values)[i] / 255;
    }
    return codes;
}

}  // namespace

Result<StatedColor> parse_color(std::string_view raw, std::optional<ColorForm> asked, const Xyz& white) {
    const std::string_view text = trimmed(raw);
    const bool hash = !text.empty() && text.front() == '#';
    StatedColor color;
    color.form = asked.value_or(hash ? ColorForm::srgb : ColorForm::lab);
    const bool screen = color.form == ColorForm::srgb || color.form == ColorForm::p3;
    if (text.empty()) return usage("color", raw, "is empty", "write it like 52.1,-3.2,14 or #8a7f61");
    if (hash && !screen) return usage("color", raw, "is a screen color", "leave out --from, or give --from srgb or --from p3");

    if (screen) {
        const auto codes = parse_codes(text);
        if (!codes) return codes.error();
        const auto [r, g, b] = *codes;
        const bool srgb = color.form == ColorForm::srgb;
        const Xyz shown = srgb ? xyz(decode(EncodedRgb{r, g, b})) : xyz(decode(EncodedP3{r, g, b}));
        const Xyz screen_white = srgb ? xyz(LinearRgb{1, 1, 1}) : xyz(LinearP3{1, 1, 1});
        color.lab = lab(adapt(shown, screen_white, white), white);
        return color;
    }

    const bool one = color.form == ColorForm::munsell_value || color.form == ColorForm::lrv;
    const char* example = color.form == ColorForm::lab   ? "write L,a,b like 52.1,-3.2,14"
                          : color.form == ColorForm::lch ? "write L,C,h like 52.1,14.4,103"
                          : color.form == ColorForm::xyz ? "write X,Y,Z like 18.9,20.3,11.2, with Y of the perfect white 100"
                          : color.form == ColorForm::lrv ? "write one number of 0 to 100, like 18.4"
                                                         : "write one number of 0 to 10, like 5.5";
    const auto values = parse_numbers(text);
    if (!values) return usage("color", raw, one ? "is not a number" : "is not three numbers", example);
    if (values->size() != (one ? 1 : 3)) {
        return usage("color", raw,
                     "holds " + std::to_string(values->size()) + (values->size() == 1 ? " number" : " numbers") + ", not " + (one ? "one" : "three"),
                     example);
    }
    const double first = values->front();
    if (one) {
        const double most = color.form == ColorForm::lrv ? 100 : 10;
        if (first < 0 || first > most) {
            return usage("color", raw, (color.form == ColorForm::lrv ? "an LRV of " : "a Munsell value of ") + brief(first) + " cannot be", example);
        }
        const double Y = color.form == ColorForm::lrv ? first : luminance_of_munsell_value(first);
        color.lab = lab(Xyz{white.X * Y / 100, Y, white.Z * Y / 100}, white);
        return color;
    }
    const double second = (*values)[1], third = (*values)[2];
    if (color.form == ColorForm::xyz) {
        if (std::min({first, second, third}) < 0) return usage("color", raw, "holds a negative figure: no light gives that", example);
        if (second > 100) return usage("color", raw, "Y is " + brief(second) + ", brighter than the perfect white", example);
        if (std::max(first, third) > 1000) return usage("color", raw, "is far from any color", example);
        color.lab = lab(Xyz{first, second, third}, white);
        return color;
    }
    if (first < 0 || first > 100) return usage("color", raw, "there is no L* of " + brief(first), "L* goes from 0 (black) to 100 (white)");
    if (color.form == ColorForm::lch) {
        if (second < 0) return usage("color", raw, "chroma is negative", "C* is 0 or more; turn the hue by 180 degrees instead");
        if (third < -360 || third > 360) return usage("color", raw, "there is no hue angle of " + brief(third), "h goes from 0 to 360 degrees");
        color.lab = lab(Lch{first, second, third < 0 ? third + 360 : third}, white);
    } else {
        color.lab = {first, second, third, white};
    }
    if (std::hypot(color.lab.a, color.lab.b) > 1000) return usage("color", raw, "is far from any color", "check the signs and the decimal points");
    return color;
}

Result<Done> settle_chart(PhotoRequest& photo) {
    const bool marked = !photo.references.grays.empty() || !photo.references.known.empty() || !photo.cards.empty();
    const std::optional<ChartEdition>& edition = photo.references.chart.edition;
    if (!photo.setup.empty()) {
        if (!marked && !photo.chart_asked && !edition && photo.references.plain.empty()) return Done{};
        return usage("set-up", photo.setup, "takes the place of references", "give either a set-up, or --gray, --chart, --known, --card and --plain");
    }
    if (!photo.chart_asked && !marked) photo.references.chart.mode = ChartMode::automatic;
    if (!edition) return Done{};
    if (photo.references.chart.mode == ChartMode::none) {
        return Error{Fault::bad_usage, "", "chart edition", "no chart is asked for", "add --chart auto or its corners, or leave out the edition"};
    }
    photo.chart_asked = true;  // whoever names its edition sees a chart
    return Done{};
}

}  // namespace sw
