// Learns what camera sensitivities look like from a table beside the project and writes the statistics that the program ships:
//   learn_cameras ../shared/reference/camera_sensitivities.csv > assets/spectral/camera_statistics.csv
// Mean and the ten largest principal components (each times its standard deviation) of 21 cameras, each channel scaled to unit area, 380..730 nm
// step 5. Cameras 7 and 15 are left out: the simulated photos in tests/photos were taken with them, so that those stay a test.
#include <cstdio>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "learn/camera_statistics.hpp"

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fprintf(stderr, "usage: learn_cameras TABLE.csv\n");
        return 2;
    }
    constexpr int bands = 71, rank = 10;
    std::ifstream in(argv[1]);
    std::vector<std::vector<double>> rows;
    for (std::string line; std::getline(in, line);) {
        if (line.empty() || line[0] == '#' || line[0] == 'n') continue;
        std::stringstream cells(line);
        std::vector<double> row;
        for (std::string cell; std::getline(cells, cell, ',');) row.push_back(std::stod(cell));
        if (row.at(0) <= 730) rows.push_back(row);
    }
    if (rows.size() != bands) {
        std::fprintf(stderr, "expected %d rows of 380..730 nm\n", bands);
        return 3;
    }
    const int cameras = static_cast<int>(rows[0].size() - 1) / 3;
    sw::test::CameraTable kept;
    for (int c = 0; c < cameras; ++c) {
        if (c + 1 == 7 || c + 1 == 15) continue;
        Eigen::VectorXd s(3 * bands);
        for (int channel = 0; channel < 3; ++channel) {
            for (int i = 0; i < bands; ++i) s[channel * bands + i] = rows[static_cast<std::size_t>(i)][static_cast<std::size_t>(1 + 3 * c + channel)];
        }
        kept.push_back(s);
    }
    const sw::CameraStatistics statistics = sw::test::learn_statistics(kept, rank);
    std::printf(
        "# Learned statistics of camera spectral sensitivities: mean and %d principal components times their standard deviation, of %zu still and "
        "cine cameras,\n",
        rank, kept.size());
    std::printf(
        "# each channel scaled to unit area over 380..730 nm (step 5). Columns: r at 380, ... r at 730, g ..., b ...; made by "
        "tests/learn/learn_cameras.cpp\n");
    std::printf("# from open camera sensitivity data of the Academy Software Foundation (Apache-2.0), which is not part of this project.\n");
    std::printf("row");
    for (const char* channel : {"r", "g", "b"}) {
        for (int i = 0; i < bands; ++i) std::printf(",%s%d", channel, 380 + 5 * i);
    }
    std::printf("\n");
    const auto print = [](const std::string& name, const Eigen::VectorXd& v) {
        std::printf("%s", name.c_str());
        for (double x : v) std::printf(",%.5g", x);
        std::printf("\n");
    };
    print("mean", statistics.mean);
    for (int k = 0; k < rank; ++k) print("component" + std::to_string(k + 1), statistics.components[static_cast<std::size_t>(k)]);
}
