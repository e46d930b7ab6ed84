// Reading the tables of tests/reference, and the line each of them leaves in the test's output.
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

inline Csv read_csv(const std::string& path) {
    Csv csv;
    std::ifstream file(path);
    if (!file) throw std::runtime_error("cannot read " + path);
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line.front() == '#') continue;
        if (csv.header.empty()) {
            csv.header = split(line);
        } else {
            csv.rows.push_back(split(line));
        }
    }
    return csv;
}

inline Csv reference_csv(const std::string& name) { return read_csv(std::string(SW_TESTS) + "/reference/" + name); }

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

private:
    std::size_t count_ = 0;
    double error_ = -1;
    std::string where_;
};

}  // namespace sw::test
