#include "workbook/exchange_share.hpp"

#include "color/cie_data.hpp"
#include "photo/thumbnail.hpp"

namespace sw {
namespace {

constexpr const char* kSourceEnds = ";";
constexpr const char* kLightEnds = "*+";  // of a blend, 0.7*lamp.csv+0.3*D65

std::string bare_spectrum(const std::string& csv) {
    const auto table = parse_spectrum(csv, "");
    if (!table) return csv;  // cannot happen to one that came from a workbook
    std::string text = "nm,reflectance\n";
    for (std::size_t i = 0; i < table->value.size(); ++i)
        text += shortest(table->first_nm + static_cast<double>(i) * table->step_nm) + "," + shortest(table->value[i]) + "\n";
    return text;
}

}  // namespace

std::string without_folders(const std::string& text, const std::string& ends) {
    std::string result;
    for (std::size_t start = 0; start <= text.size();) {
        const std::size_t end = std::min(text.find_first_of(ends, start), text.size());
        const std::string piece = text.substr(start, end - start);
        const std::size_t blanks = std::min(piece.find_first_not_of(' '), piece.size()), slash = piece.find_last_of("/\\");
        result += slash == std::string::npos ? piece : piece.substr(0, blanks) + piece.substr(slash + 1);
        if (end < text.size()) result += text[end];
        start = end + 1;
    }
    return result;
}

Exchange fit_to_share(Exchange all) {
    for (Target& target : all.targets) {
        target.source = without_folders(target.source, kSourceEnds);
        target.light = without_folders(target.light, kLightEnds);
        if (!target.spectrum.empty()) target.spectrum = bare_spectrum(target.spectrum);
    }
    for (KeptReading& reading : all.readings) {
        reading.photo_file = without_folders(reading.photo_file, "");
        reading.light = without_folders(reading.light, kLightEnds);
        reading.calibration_json.clear();
    }
    for (Card& card : all.cards) {
        card.source = without_folders(card.source, kSourceEnds);
        if (auto* spectrum = std::get_if<SpectrumText>(&card.value)) spectrum->csv = bare_spectrum(spectrum->csv);
    }
    for (Lamp& lamp : all.lamps) {
        lamp.light = without_folders(lamp.light, kLightEnds);
        lamp.source = without_folders(lamp.source, kSourceEnds);
        if (!lamp.spectrum.empty()) lamp.spectrum = bare_spectrum(lamp.spectrum);
    }
    for (KeptPhoto& photo : all.photos) {
        photo.path = without_folders(photo.path, "");
        photo.thumbnail = without_metadata(photo.thumbnail);
    }
    for (KeptPaint& paint : all.paints) paint.source = without_folders(paint.source, kSourceEnds);
    for (KeptSample& sample : all.samples) {
        sample.source = without_folders(sample.source, kSourceEnds);
        sample.light = without_folders(sample.light, kLightEnds);
        if (!sample.spectrum.empty()) sample.spectrum = bare_spectrum(sample.spectrum);
    }
    for (KeptPot& pot : all.pots) {
        for (std::string& light : pot.lights) light = without_folders(light, kLightEnds);
    }
    for (KeptPotReading& reading : all.pot_readings) {
        reading.source = without_folders(reading.source, kSourceEnds);
        reading.light = without_folders(reading.light, kLightEnds);
    }
    all.setups.clear();
    return all;
}

}  // namespace sw
