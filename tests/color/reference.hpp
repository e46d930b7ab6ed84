// The one reader of CSV tables for tests, and the largest error that a test saw.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace sw::test {

/// A table of text cells with a header line. Every row has a cell for each column.
struct Csv {
    std::vector<std::string> header;
    std::vector<std::vector<std::string>> rows;

    [[nodiscard]] std::size_t column(const std::string& name) const {
        const auto at = std::find(header.begin(), header.end(), name);
        if (at == header.end()) throw std::out_of_range("no column " + name);
        return static_cast<std::size_t>(at - header.begin());
    }
    [[nodiscard]] const std::string& text(std::size_t row, const std::string& name) const { return rows.at(row).at(column(name)); }
    [[nodiscard]] double number(std::size_t row, const std::string& name) const { return std::stod(text(row, name)); }
};

inline std::vector<std::string> split(const std::string& line) {
    std::vector<std::string> cells;
    std::stringstream stream(line);
    for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
    return cells;
}

/// Lines that begin with # are left out; missing cells at a row's end are empty. A cell of a column "kind" may hold commas of its own (it does in
/// oracle_metamerism_reflectances.csv: "metamer, off"): the cells after it are counted from the right. Any other surplus cell is an exception.
inline Csv read_csv(const std::string& path) {
    Csv csv;
    std::ifstream file(path);
    if (!file) throw std::runtime_error("cannot read " + path);
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line.front() == '#') continue;
        std::vector<std::string> cells = split(line);
        if (csv.header.empty()) {
            csv.header = std::move(cells);
            continue;
        }
        if (cells.size() > csv.header.size()) {
            const auto kind = cells.begin() + static_cast<std::ptrdiff_t>(csv.column("kind"));
            const auto end = kind + static_cast<std::ptrdiff_t>(cells.size() - csv.header.size());
            for (auto surplus = kind + 1; surplus <= end; ++surplus) *kind += "," + *surplus;
            cells.erase(kind + 1, end + 1);
        }
        cells.resize(csv.header.size());
        csv.rows.push_back(std::move(cells));
    }
    return csv;
}

inline std::string reference_file(const std::string& name) { return std::string(SW_TESTS) + "/reference/" + name; }
inline Csv reference_csv(const std::string& name) { return read_csv(reference_file(name)); }

/// A file that may lie beside the project.
inline std::string beside_file(const std::string& name) { return std::string(SW_BESIDE) + "/reference/" + name; }
inline bool is_beside(const std::string& name) { return std::filesystem::exists(beside_file(name)); }

/// The largest of the errors seen, and where.
class Worst {
public:
    void see(double error, const std::string& where) {
        ++count_;
        if (!(error <= error_)) {  // NaN counts as worst
            error_ = error;
            where_ = where;
        }
    }
    /// Prints one row of the table and fails where the tolerance does not hold.
    void report(const std::string& what, double tolerance) const {
        std::printf("%-58s %6zu checked  worst %-10.3g tolerance %-8.3g (%s)\n", what.c_str(), count_, error_, tolerance, where_.c_str());
        EXPECT_GT(count_, 0U) << what;
        EXPECT_LE(error_, tolerance) << what << ": " << where_;
    }
    [[nodiscard]] double error() const { return error_; }
    [[nodiscard]] std::size_t count() const { return count_; }
    [[nodiscard]] const std::string& where() const { return where_; }

private:
    std::size_t count_ = 0;
    double error_ = -1;
    std::string where_;
};

}  // namespace sw::test
