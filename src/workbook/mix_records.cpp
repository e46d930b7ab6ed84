#include "workbook/mix_records.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "workbook/workbook.hpp"

namespace sw {
namespace {

using nlohmann::json;

constexpr std::size_t kMostSamples = 200;

Result<KeptSample> sample_of(const json& one) {
    const auto wrong = [](const std::string& cause) {
        return Error{Fault::workbook_unreadable, "", "a paint's sample", cause, "use a copy of the workbook from before"};
    };
    if (!one.is_object()) return wrong("is no object");
    const auto figure = [&](const char* name) -> std::optional<double> {
        const auto at = one.find(name);
        if (at == one.end() || !at->is_number() || !std::isfinite(at->get<double>())) return std::nullopt;
        return at->get<double>();
    };
    KeptSample sample;
    const auto share = figure("share");
    if (!share || !(*share > 0 && *share <= 1)) return wrong("its share is not above 0 and at most 1");
    sample.share = *share;
    if (const auto spectrum = one.find("spectrum"); spectrum != one.end()) {
        const auto sd = figure("sd");
        if (!spectrum->is_string() || !sd || !(*sd > 0 && *sd <= 1)) return wrong("its spectrum or the spread of it cannot be");
        sample.spectrum = spectrum->get<std::string>();
        sample.spectrum_sd = *sd;
        if (const auto surface = surface_of(sample.spectrum, "the spectrum"); !surface) return wrong(describe(surface.error()));
        return sample;
    }
    const auto figures = [&](const char* name, double* to, std::size_t count) {
        const auto list = one.find(name);
        if (list == one.end() || !list->is_array() || list->size() != count) return false;
        for (std::size_t i = 0; i < count; ++i) {
            if (!(*list)[i].is_number() || !std::isfinite((*list)[i].get<double>())) return false;
            to[i] = (*list)[i].get<double>();
        }
        return true;
    };
    std::array<double, 3> lab{}, white{};
    std::array<double, 6> covariance{};
    if (!figures("lab", lab.data(), 3) || !figures("white", white.data(), 3) || !figures("cov", covariance.data(), 6))
        return wrong("has no color that can be");
    sample.lab = Lab{.L = lab[0], .a = lab[1], .b = lab[2], .white = Xyz{white[0], white[1], white[2]}};
    std::size_t at = 0;
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) sample.lab_covariance(row, column) = sample.lab_covariance(column, row) = covariance[at++];
    }
    const auto light = one.find("light");
    const auto observer = figure("observer");
    if (light == one.end() || !light->is_string() || !observer || (*observer != 2 && *observer != 10)) return wrong("does not say its light");
    sample.light = light->get<std::string>();
    sample.observer = *observer == 10 ? Observer::degree10 : Observer::degree2;
    return sample;
}

}  // namespace

std::string to_word(Finish finish) { return finish == Finish::matte ? "matte" : finish == Finish::satin ? "satin" : "gloss"; }

std::optional<Finish> finish(const std::string& word) {
    for (const Finish known : {Finish::matte, Finish::satin, Finish::gloss}) {
        if (word == to_word(known)) return known;
    }
    return std::nullopt;
}

std::string samples_text(const std::vector<KeptSample>& samples) {
    json list = json::array();
    for (const KeptSample& sample : samples) {
        json one{{"share", sample.share}};
        if (!sample.spectrum.empty()) {
            one["spectrum"] = sample.spectrum;
            one["sd"] = sample.spectrum_sd;
        } else {
            json covariance = json::array();
            for (int row = 0; row < 3; ++row) {
                for (int column = row; column < 3; ++column) covariance.push_back(sample.lab_covariance(row, column));
            }
            one["lab"] = {sample.lab.L, sample.lab.a, sample.lab.b};
            one["white"] = {sample.lab.white.X, sample.lab.white.Y, sample.lab.white.Z};
            one["cov"] = std::move(covariance);
            one["light"] = sample.light;
            one["observer"] = sample.observer == Observer::degree10 ? 10 : 2;
        }
        list.push_back(std::move(one));
    }
    return list.dump(-1, ' ', false, json::error_handler_t::replace);
}

Result<std::vector<KeptSample>> samples_of(const std::string& text) {
    const json list = json::parse(text, nullptr, false);
    if (!list.is_array() || list.size() > kMostSamples)
        return Error{Fault::workbook_unreadable, "", "a paint's samples", "are not a list that can be", "use a copy of the workbook from before"};
    std::vector<KeptSample> samples;
    for (const json& one : list) {
        Result<KeptSample> sample = sample_of(one);
        if (!sample) return sample.error();
        samples.push_back(*std::move(sample));
    }
    return samples;
}

}  // namespace sw
