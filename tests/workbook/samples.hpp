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
