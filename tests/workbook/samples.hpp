// What the workbook tests share: a folder that goes away, made-up targets and readings, and how to compare them.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "workbook/workbook.hpp"

namespace sw {

/// Memory where there is such a place: no disk to wait for.
inline std::filesystem::path quick_place() { return ::access("/dev/shm", W_OK) == 0 ? "/dev/shm" : std::filesystem::temp_directory_path(); }

class Folder {
public:
    explicit Folder(const std::filesystem::path& inside = std::filesystem::temp_directory_path()) {
        std::string pattern = (inside / "workbook_test_XXXXXX").string();
        path = ::mkdtemp(pattern.data());
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code error;
        std::filesystem::remove_all(path, error);
    }
    std::filesystem::path operator/(const std::string& name) const { return path / name; }
    std::filesystem::path path;
};

inline std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_bytes(const std::filesystem::path& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary | std::ios::trunc).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

/// The same number gives the same target; all figures differ between numbers. The covariance is A times A transposed, so positive semidefinite.
inline Target sample_target(int number) {
    Target target;
    target.name = "Damson " + std::to_string(number);
    target.lab = {20 + number % 70 + 0.1, -5.25 + 0.01 * number, 7.125 - number / 3.0};
    Eigen::Matrix3d half;
    half << 0.3, 0, 0, 0.01 * (number % 7), 0.4, 0, -0.05, 0.02, 0.5;
    target.lab_covariance = half * half.transpose();
    target.kind = static_cast<TargetKind>(number % 4);
    target.light = number % 2 == 0 ? "D50" : "led:6500,ra=80";
    target.observer = number % 3 == 0 ? Observer::degree10 : Observer::degree2;
    target.source = "bench.jpg 100,20,50," + std::to_string(number);
    return target;
}

/// Every fifth has a calibration text longer than a database page (4096 bytes), so that it overflows.
inline KeptReading sample_reading(int number) {
    const Target color = sample_target(number);
    KeptReading reading;
    reading.name = "swatch, mix " + std::to_string(number) + " pot B";
    reading.photo_file = "bench " + std::to_string(number) + ".jpg";
    reading.photo_hash = "sha256:" + std::to_string(number * 7919);
    reading.region = "3900,20,200," + std::to_string(number);
    reading.calibration_json =
        "{\"method\":\"neutral\",\"note\":\"" + std::string(number % 5 == 0 ? 6000 : 40, static_cast<char>('a' + number % 26)) + "\"}";
    reading.lab = color.lab;
    reading.lab_covariance = color.lab_covariance;
    reading.light = "D50";
    if (number % 2 == 0) {
        reading.de00 = 1.9 + number;
        reading.ci_low = 1.5;
        reading.ci_high = 2.5 + number;
        reading.verdict = "not resolved";
    }
    return reading;
}

/// Every kind of card in turn.
inline Card sample_card(int number) {
    Card card;
    card.name = "card " + std::to_string(number);
    if (number % 3 == 0) card.value = Lrv{18.25 + 0.001 * number};
    if (number % 3 == 1) card.value = Lab{40.5 + 0.001 * number, -12.25, 30.125};
    if (number % 3 == 2) {
        std::string csv = "nm,reflectance\n";
        for (int nm = 380; nm <= 730; nm += 10) csv += std::to_string(nm) + "," + std::to_string(0.2 + 0.0005 * (nm - 380)) + "\n";
        card.value = SpectrumText{csv};
    }
    card.sd = 0.2 + 0.001 * number;
    card.sd_assumed = number % 2 == 0;
    card.source = "typed " + std::to_string(number);
    return card;
}

/// Every third has a text longer than ten database pages, as real set-ups have.
inline KeptSetup sample_setup(int number) {
    KeptSetup setup;
    setup.name = "bench " + std::to_string(number);
    setup.photo_file = "chart " + std::to_string(number) + ".jpg";
    setup.photo_hash = "sha1:" + std::to_string(number * 7919);
    setup.light = number % 2 == 0 ? "" : "led:6500,ra=80";
    setup.method = "24-patch chart";
    setup.grade = "good";
    setup.json = "{\"n\":\"" + std::string(number % 3 == 0 ? 50000 : 30, static_cast<char>('a' + number % 26)) + "\"}";
    return setup;
}

/// target, parent: ids of what it wears and stands in; 0 for none.
inline Part sample_part(int number, std::int64_t target = 0, std::int64_t parent = 0) {
    Part part;
    part.name = "brake wheel " + std::to_string(number);
    if (target > 0) part.target = target;
    if (parent > 0) part.parent = parent;
    part.status = static_cast<PartStatus>(number % 6);
    part.note = number % 2 == 0 ? "" : "second coat on day " + std::to_string(number);
    return part;
}

/// Bytes of every value in the thumbnail, zero too; every third longer than a database page.
inline KeptPhoto sample_photo(int number) {
    KeptPhoto photo;
    photo.path = "/bench/photo " + std::to_string(number) + ".jpg";
    photo.hash = "sha1:" + std::to_string(number * 104729);
    photo.bytes = 4'000'000 + number;
    photo.width = 4000;
    photo.height = 3000 + number;
    photo.camera = "Marrow 3";
    photo.taken = "2026:05:04 10:11:12";
    if (number % 2 == 0) photo.iso = 100 + number;
    photo.exposure_s = 0.01 + 0.001 * number;
    for (int i = 0; i < (number % 3 == 0 ? 6000 : 300); ++i) photo.thumbnail += static_cast<char>(i * (number + 1));
    return photo;
}

inline Lamp sample_lamp(int number) {
    Lamp lamp;
    lamp.name = "bench lamp " + std::to_string(number);
    lamp.source = "typed";
    if (number % 2 == 0) {
        lamp.light = "planck:" + std::to_string(2850 + number);  // a shop LED would take its time
    } else {
        lamp.spectrum = "nm,power\n";
        for (int nm = 380; nm <= 730; nm += 10) lamp.spectrum += std::to_string(nm) + "," + std::to_string(1 + 0.001 * (nm - 380 + number)) + "\n";
    }
    return lamp;
}

/// About one of the three; 0 for the others.
inline Note sample_note(int number, std::int64_t target, std::int64_t part = 0, std::int64_t reading = 0) {
    Note note;
    if (target > 0) note.target = target;
    if (part > 0) note.part = part;
    if (reading > 0) note.reading = reading;
    note.text = "two drops more of D\xC3\xA4mmerung, try " + std::to_string(number);
    return note;
}

/// Some of all that may be said of a paint, in turn.
inline KeptPaint sample_paint(int number) {
    constexpr const char* kPigments[] = {"PW6", "PY42", "PG7 PB15:3", ""};
    KeptPaint paint;
    paint.name = "Tube " + std::to_string(number);
    paint.maker = "Marrowdale Works";
    paint.code = "M" + std::to_string(number);
    paint.binder = number % 3 == 0 ? "acrylic" : number % 3 == 1 ? "lacquer" : "";
    if (number % 4 != 3) paint.finish = static_cast<Finish>(number % 4);
    paint.pigments = kPigments[number % 4];
    paint.white = number % 4 == 0;
    paint.on_shelf = number % 5 != 4;
    if (number % 2 == 0) paint.drop_ml = 0.04 + 0.001 * number;
    if (number % 3 == 0) paint.drop_cv = 0.07;
    if (number % 3 == 1) paint.density = 1.1 + 0.01 * number;
    if (number % 2 == 1) paint.bottle_ml = 17;
    if (number % 4 == 1) paint.price = 3.2 + number;
    if (number % 2 == 1) {
        paint.stock_ml = 8.5;
        paint.stock_said = "2031-05-06T07:08:09.123Z";
    }
    paint.note = number % 2 == 0 ? "" : "thick, shake well";
    paint.source = "typed " + std::to_string(number);
    return paint;
}

/// Masstones, tints, spectra and drawdowns in turn. white: of tints; 0 for the shelf's.
inline KeptSample sample_sample(int number, std::int64_t paint, std::int64_t white = 0) {
    const Target color = sample_target(number);
    KeptSample sample;
    sample.paint = paint;
    sample.share = number % 3 == 1 ? 0.1 + 0.001 * number : 1;
    if (sample.share < 1 && white > 0) sample.white = white;
    sample.lab = color.lab;
    sample.lab_covariance = color.lab_covariance;
    sample.light = color.light;
    sample.observer = color.observer;
    if (number % 4 == 2) {
        sample.spectrum = std::get<SpectrumText>(sample_card(2).value).csv;
        sample.spectrum_sd = 0.004;
    }
    if (number % 3 == 2) {
        sample.film = number;
        sample.laid.film_um = 24.5;
        sample.laid.film_cv = 0.3;
        sample.laid.under = Lab{number % 2 == 0 ? 22.0 : 96.0, 0.5, -0.25};
    }
    if (number % 4 == 3) sample.laid.coat = Finish::gloss;
    sample.set_aside = number % 5 == 4;
    sample.source = "card " + std::to_string(number);
    return sample;
}

/// target: 0 for none.
inline KeptPot sample_pot(int number, std::int64_t target = 0) {
    KeptPot pot;
    pot.name = "mix " + std::to_string(number);
    if (target > 0) pot.target = target;
    if (number % 2 == 0) pot.tolerance = 1.5;
    if (number % 3 != 0) pot.lights = {"D50", "led:6500,ra=80"};
    pot.teaches = number % 4 != 3;
    pot.note = number % 2 == 0 ? "" : "for the lining";
    return pot;
}

/// Drops, ml, something unknown, some of it taken out, in turn.
inline KeptAddition sample_addition(int number, std::int64_t pot, std::int64_t paint) {
    KeptAddition addition;
    addition.pot = pot;
    addition.kind = number % 5 == 3 ? AdditionKind::unknown : number % 5 == 4 ? AdditionKind::taken : AdditionKind::paint;
    if (addition.kind == AdditionKind::paint) addition.paint = paint;
    if (addition.kind != AdditionKind::unknown) {
        addition.amount = 1 + number % 7;
        addition.unit = number % 2 == 0 ? "drops" : "ml";
        addition.ml = *addition.amount * (number % 2 == 0 ? 0.05 : 1);
    }
    if (number % 3 == 2) addition.spread = 0.2;
    addition.note = number % 2 == 0 ? "" : "a little thinner went in too";
    return addition;
}

inline KeptPotReading sample_pot_reading(int number, std::int64_t pot, std::int64_t addition) {
    const Target color = sample_target(number);
    KeptPotReading reading;
    reading.pot = pot;
    reading.addition = addition;
    reading.lab = color.lab;
    reading.lab_covariance = color.lab_covariance;
    reading.light = color.light;
    reading.observer = color.observer;
    reading.wet = number % 4 == 3;
    if (number % 3 == 0) reading.laid.coat = Finish::satin;
    if (number % 3 == 1) reading.laid = {.film_um = 15.0, .film_cv = 0.4, .under = Lab{55, 0, 0.5}, .coat = {}};
    if (number % 2 == 0) {
        reading.de00 = 1.25 + number;
        reading.ci_low = 0.5;
        reading.ci_high = 2.5 + number;
        reading.tolerance = 2;
        reading.verdict = "not resolved";
    }
    reading.set_aside = number % 5 == 4;
    reading.source = "typed " + std::to_string(number);
    return reading;
}

// Stored doubles come back bit for bit (SQLite keeps IEEE 754 binary64), hence exact comparison throughout.
inline bool same_color(const Lab& lab, const Eigen::Matrix3d& covariance, const Lab& other, const Eigen::Matrix3d& other_covariance) {
    return lab.L == other.L && lab.a == other.a && lab.b == other.b && lab.white.X == other.white.X && lab.white.Y == other.white.Y &&
           lab.white.Z == other.white.Z && covariance == other_covariance;
}

/// Everything but id and time.
inline bool same_content(const Target& one, const Target& two) {
    return one.name == two.name && same_color(one.lab, one.lab_covariance, two.lab, two.lab_covariance) && one.kind == two.kind &&
           one.light == two.light && one.observer == two.observer && one.source == two.source && one.spectrum == two.spectrum &&
           one.caution == two.caution;
}
inline bool same(const Target& one, const Target& two) { return same_content(one, two) && one.id == two.id && one.created == two.created; }

/// Everything but id, link and time.
inline bool same_content(const KeptReading& one, const KeptReading& two) {
    return one.name == two.name && one.photo_file == two.photo_file && one.photo_hash == two.photo_hash && one.region == two.region &&
           one.calibration_json == two.calibration_json && same_color(one.lab, one.lab_covariance, two.lab, two.lab_covariance) &&
           one.light == two.light && one.de00 == two.de00 && one.ci_low == two.ci_low && one.ci_high == two.ci_high && one.verdict == two.verdict;
}
inline bool same(const KeptReading& one, const KeptReading& two) {
    return same_content(one, two) && one.id == two.id && one.target == two.target && one.created == two.created;
}

inline bool same_content(const Card& one, const Card& two) {
    const auto* color = std::get_if<Lab>(&one.value);
    const auto* other = std::get_if<Lab>(&two.value);
    const auto* lrv = std::get_if<Lrv>(&one.value);
    const auto* spectrum = std::get_if<SpectrumText>(&one.value);
    if (one.value.index() != two.value.index() || one.name != two.name || one.sd != two.sd || one.sd_assumed != two.sd_assumed ||
        one.source != two.source)
        return false;
    if (color != nullptr) return color->L == other->L && color->a == other->a && color->b == other->b;
    return lrv != nullptr ? lrv->value == std::get<Lrv>(two.value).value : spectrum->csv == std::get<SpectrumText>(two.value).csv;
}
inline bool same_content(const KeptSetup& one, const KeptSetup& two) {
    return one.name == two.name && one.photo_file == two.photo_file && one.photo_hash == two.photo_hash && one.light == two.light &&
           one.method == two.method && one.grade == two.grade && one.json == two.json;
}

/// Everything but id and time.
inline bool same_content(const Part& one, const Part& two) {
    return one.name == two.name && one.parent == two.parent && one.target == two.target && one.status == two.status && one.note == two.note;
}
inline bool same_content(const KeptPhoto& one, const KeptPhoto& two) {
    return one.path == two.path && one.hash == two.hash && one.bytes == two.bytes && one.width == two.width && one.height == two.height &&
           one.camera == two.camera && one.lens == two.lens && one.taken == two.taken && one.iso == two.iso && one.exposure_s == two.exposure_s &&
           one.f_number == two.f_number && one.focal_mm == two.focal_mm && one.thumbnail == two.thumbnail;
}
inline bool same_content(const Lamp& one, const Lamp& two) {
    return one.name == two.name && one.light == two.light && one.spectrum == two.spectrum && one.source == two.source;
}
inline bool same_content(const Note& one, const Note& two) {
    return one.target == two.target && one.part == two.part && one.reading == two.reading && one.text == two.text;
}

/// Everything but id and time.
inline bool same_content(const KeptPaint& one, const KeptPaint& two) {
    return one.name == two.name && one.maker == two.maker && one.code == two.code && one.binder == two.binder && one.finish == two.finish &&
           one.pigments == two.pigments && one.white == two.white && one.on_shelf == two.on_shelf && one.drop_ml == two.drop_ml &&
           one.drop_cv == two.drop_cv && one.density == two.density && one.bottle_ml == two.bottle_ml && one.price == two.price &&
           one.stock_ml == two.stock_ml && one.stock_said == two.stock_said && one.note == two.note && one.source == two.source;
}
inline bool same_content(const KeptSample& one, const KeptSample& two) {
    return one.paint == two.paint && one.share == two.share && one.white == two.white &&
           same_color(one.lab, one.lab_covariance, two.lab, two.lab_covariance) && one.light == two.light && one.observer == two.observer &&
           one.spectrum == two.spectrum && one.spectrum_sd == two.spectrum_sd && one.film == two.film && one.laid == two.laid &&
           one.set_aside == two.set_aside && one.reading == two.reading && one.source == two.source;
}
inline bool same_content(const KeptPot& one, const KeptPot& two) {
    return one.name == two.name && one.target == two.target && one.batch_of == two.batch_of && one.tolerance == two.tolerance &&
           one.lights == two.lights && one.teaches == two.teaches && one.note == two.note;
}
/// And number: it is given when it is added.
inline bool same_content(const KeptAddition& one, const KeptAddition& two) {
    return one.pot == two.pot && one.kind == two.kind && one.paint == two.paint && one.amount == two.amount && one.unit == two.unit &&
           one.ml == two.ml && one.spread == two.spread && one.explains == two.explains && one.note == two.note;
}
inline bool same_content(const KeptPotReading& one, const KeptPotReading& two) {
    return one.pot == two.pot && one.addition == two.addition && same_color(one.lab, one.lab_covariance, two.lab, two.lab_covariance) &&
           one.light == two.light && one.observer == two.observer && one.wet == two.wet && one.laid == two.laid && one.de00 == two.de00 &&
           one.ci_low == two.ci_low && one.ci_high == two.ci_high && one.tolerance == two.tolerance && one.verdict == two.verdict &&
           one.set_aside == two.set_aside && one.reading == two.reading && one.source == two.source;
}

/// A paint with two samples and a pot with three additions and a reading after the second.
inline Result<Done> add_sample_mix(Workbook& workbook, int number, std::int64_t target = 0, std::int64_t reading = 0) {
    const auto paint = workbook.add(sample_paint(number));
    if (!paint) return paint.error();
    for (const int kind : {0, 1}) {
        KeptSample sample = sample_sample(3 * number + kind, paint->id);
        if (reading > 0) sample.reading = reading;
        if (const auto added = workbook.add(sample); !added) return added.error();
    }
    const auto pot = workbook.add(sample_pot(number, target));
    if (!pot) return pot.error();
    for (int step = 0; step < 3; ++step) {
        const auto added = workbook.add(sample_addition(step == 0 ? 0 : number + step, pot->id, paint->id));
        if (!added) return added.error();
        if (step != 1) continue;
        KeptPotReading seen = sample_pot_reading(number, pot->id, added->id);
        if (reading > 0) seen.reading = reading;
        if (const auto kept = workbook.add(seen); !kept) return kept.error();
    }
    return Done{};
}

/// For the line that a long test prints at its end.
inline const char* failed_words() { return testing::Test::HasFailure() ? "some FAILED" : "0 failed"; }

/// Opens, or fails the test.
inline Workbook opened(const std::filesystem::path& file, bool create = true) {
    Result<Workbook> workbook = Workbook::open(file, create);
    if (!workbook) throw std::runtime_error(describe(workbook.error()));
    return std::move(*workbook);
}

}  // namespace sw

#define EXPECT_FAULT(result, expected)                                               \
    do {                                                                             \
        const auto& result_ = (result);                                              \
        if (result_) {                                                               \
            ADD_FAILURE() << #result << " gave no error";                            \
        } else {                                                                     \
            EXPECT_EQ(result_.error().fault, expected) << describe(result_.error()); \
            EXPECT_FALSE(result_.error().cause.empty());                             \
            EXPECT_FALSE(result_.error().remedy.empty());                            \
        }                                                                            \
    } while (false)
