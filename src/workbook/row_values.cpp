#include "workbook/row_values.hpp"

#include <Eigen/Eigenvalues>
#include <bit>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>

#include "workbook/rows.hpp"

namespace sw::store {
namespace {

constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestText = 16 << 20;

// The code point that starts at `at`, which moves past it; nothing if the bytes are not UTF-8 (RFC 3629).
std::optional<char32_t> next_code_point(std::string_view text, std::size_t& at) {
    const auto byte = [&](std::size_t index) { return static_cast<unsigned char>(text[index]); };
    const unsigned char lead = byte(at++);
    if (lead < 0x80) return lead;
    const int more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : 1;
    if (lead < 0xC2 || lead > 0xF4 || text.size() - at < static_cast<std::size_t>(more)) return std::nullopt;
    char32_t code = lead & (0x3FU >> more);
    for (int i = 0; i < more; ++i) {
        if ((byte(at) & 0xC0U) != 0x80) return std::nullopt;
        code = code << 6U | (byte(at++) & 0x3FU);
    }
    const char32_t least = more == 3 ? 0x10000 : more == 2 ? 0x800 : 0x80;
    if (code < least || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return std::nullopt;
    return code;
}

// Eight bytes at a time: most long texts are.
bool is_ascii(std::string_view text) {
    std::uint64_t all = 0;
    std::size_t at = 0;
    for (; at + sizeof all <= text.size(); at += sizeof all) {
        std::uint64_t eight = 0;
        std::memcpy(&eight, text.data() + at, sizeof eight);
        all |= eight;
    }
    for (; at < text.size(); ++at) all |= static_cast<unsigned char>(text[at]);
    return (all & 0x8080808080808080) == 0;
}

const std::vector<std::string>& lab_columns() {
    static const std::vector<std::string> columns{"lab_l",  "lab_a",  "lab_b",  "white_x", "white_y", "white_z",
                                                  "cov_ll", "cov_la", "cov_lb", "cov_aa",  "cov_ab",  "cov_bb"};
    return columns;
}

}  // namespace

std::vector<std::string> joined(std::vector<std::string> before, const std::vector<std::string>& after) {
    before.insert(before.end(), lab_columns().begin(), lab_columns().end());
    before.insert(before.end(), after.begin(), after.end());
    return before;
}

void append(Values& values, const Lab& lab, const Eigen::Matrix3d& covariance) {
    for (const double figure : {lab.L, lab.a, lab.b, lab.white.X, lab.white.Y, lab.white.Z}) values.emplace_back(figure);
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) values.emplace_back(covariance(row, column));
    }
}

void take(Taker& taker, Lab& lab, Eigen::Matrix3d& covariance) {
    for (double* figure : {&lab.L, &lab.a, &lab.b, &lab.white.X, &lab.white.Y, &lab.white.Z}) taker.take(*figure);
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) {
            taker.take(covariance(row, column));
            covariance(column, row) = covariance(row, column);
        }
    }
}

std::optional<std::string> color_flaw(const Lab& lab, const Eigen::Matrix3d& covariance) {
    for (const double figure : {lab.L, lab.a, lab.b}) {
        if (!std::isfinite(figure)) return "a Lab figure is not a finite number";
    }
    for (const double figure : {lab.white.X, lab.white.Y, lab.white.Z}) {
        if (!std::isfinite(figure) || figure <= 0) return "the white of the Lab figures is not a light";
    }
    if (!covariance.allFinite()) return "the uncertainty is not a finite number";
    if (covariance.diagonal().minCoeff() < 0) return "the uncertainty has a negative variance";
    // 1e-9 of the largest entry: far above rounding in double, far below any figure that matters.
    const double rounding = 1e-9 * covariance.cwiseAbs().maxCoeff();
    if ((covariance - covariance.transpose()).cwiseAbs().maxCoeff() > rounding) return "the uncertainty is not a symmetric matrix";
    if (rounding == 0) return std::nullopt;
    const double largest = covariance.cwiseAbs().maxCoeff();
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(covariance / largest, Eigen::EigenvaluesOnly);
    if (solver.info() != Eigen::Success || !(solver.eigenvalues().minCoeff() >= -1e-9))
        return "the uncertainty is not a possible covariance (a direction in it has negative variance)";
    return std::nullopt;
}

void tidy_color(Lab& lab, Eigen::Matrix3d& covariance) {
    for (double* figure : {&lab.L, &lab.a, &lab.b}) *figure += 0.0;  // -0 becomes 0: SQLite keeps no sign of zero
    for (int row = 0; row < 3; ++row) {
        for (int column = row; column < 3; ++column) covariance(row, column) += 0.0;
    }
}

std::optional<std::string> name_flaw(const std::string& name) {
    if (name.empty()) return "the name is empty";
    if (name.size() > kLongestName)
        return "the name is " + std::to_string(name.size()) + " bytes long, " + std::to_string(kLongestName) + " at most are allowed";
    for (std::size_t at = 0; at < name.size();) {
        const std::optional<char32_t> code = next_code_point(name, at);
        if (!code) return "the name is not valid UTF-8 text";
        if (*code < 0x20 || (*code >= 0x7F && *code < 0xA0)) return "the name holds a control character";
    }
    return std::nullopt;
}

std::optional<std::string> bytes_flaw(const std::string& text, std::string_view what) {
    if (text.size() > kLongestText) return std::string(what) + " is longer than 16 MB";
    if (text.find('\0') != std::string::npos) return std::string(what) + " holds a zero byte";
    return std::nullopt;
}

std::optional<std::string> text_flaw(const std::string& text, std::string_view what) {
    if (auto found = bytes_flaw(text, what)) return found;
    if (is_ascii(text)) return std::nullopt;
    for (std::size_t at = 0; at < text.size();) {
        if (!next_code_point(text, at)) return std::string(what) + " is not valid UTF-8 text";
    }
    return std::nullopt;
}

std::optional<std::string> time_flaw(const std::string& created) {
    // YYYY-MM-DDTHH:MM:SS, perhaps .fraction, Z
    const std::string_view shape = "0000-00-00T00:00:00";
    bool good = created.size() > shape.size() && created.back() == 'Z';
    for (std::size_t i = 0; good && i < shape.size(); ++i) good = shape[i] == '0' ? created[i] >= '0' && created[i] <= '9' : created[i] == shape[i];
    if (good && created.size() > shape.size() + 1) {
        good = created[shape.size()] == '.' && created.size() > shape.size() + 2;
        for (std::size_t i = shape.size() + 1; good && i + 1 < created.size(); ++i) good = created[i] >= '0' && created[i] <= '9';
    }
    if (!good) return "the time of making is not ISO 8601 in UTC";
    return std::nullopt;
}

void append(Values& values, const std::optional<double>& figure) {
    if (figure) {
        values.emplace_back(*figure);
    } else {
        values.emplace_back(std::monostate{});
    }
}

void append(Values& values, const std::optional<std::int64_t>& number) {
    if (number) {
        values.emplace_back(*number);
    } else {
        values.emplace_back(std::monostate{});
    }
}

std::string trimmed(std::string_view text) {
    const std::string_view blank = " \t\r\n";
    const std::size_t first = text.find_first_not_of(blank);
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(blank) - first + 1));
}

std::int64_t checksum(std::int64_t id, const Values& row) {
    std::uint64_t hash = 0xcbf29ce484222325;
    const auto add_byte = [&](unsigned char byte) { hash = (hash ^ byte) * 0x100000001b3; };
    const auto add_number = [&](std::uint64_t number) {
        for (int shift = 0; shift < 64; shift += 8) add_byte(static_cast<unsigned char>(number >> shift));
    };
    add_number(static_cast<std::uint64_t>(id));
    for (const Value& value : row) {
        add_byte(static_cast<unsigned char>(value.index()));
        if (const auto* number = std::get_if<std::int64_t>(&value)) add_number(static_cast<std::uint64_t>(*number));
        if (const auto* real = std::get_if<double>(&value)) add_number(std::bit_cast<std::uint64_t>(*real));
        if (const auto* text = std::get_if<std::string>(&value)) {
            add_number(text->size());
            for (const char character : *text) add_byte(static_cast<unsigned char>(character));
        }
        if (const auto* blob = std::get_if<Blob>(&value)) {
            add_number(blob->bytes.size());
            for (const char byte : blob->bytes) add_byte(static_cast<unsigned char>(byte));
        }
    }
    return std::bit_cast<std::int64_t>(hash);
}

std::string now_utc() {
    const auto now = std::chrono::system_clock::now();
    const std::time_t seconds = std::chrono::system_clock::to_time_t(std::chrono::floor<std::chrono::seconds>(now));
    const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(now.time_since_epoch()).count() % 1000;
    std::tm parts{};
    gmtime_r(&seconds, &parts);
    char date[32] = {}, text[40] = {};
    std::strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%S", &parts);
    std::snprintf(text, sizeof text, "%s.%03dZ", date, static_cast<int>(milliseconds));
    return text;
}

}  // namespace sw::store
