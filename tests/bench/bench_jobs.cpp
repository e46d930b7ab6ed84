// How long single questions take: lights, surfaces, calibration, a large workbook. "per copy" is the time against copying a megapixel of float RGB
// (12 MB) in the same run, so that figures of different machines can be held together. Every answer is looked at: a wrong one ends the program
// with 1.
//   bench_jobs [--smoke]
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "calibrate/sensed.hpp"
#include "cli/cli.hpp"
#include "color/light.hpp"
#include "spectral/mismatch.hpp"
#include "spectral/smooth_surface.hpp"
#include "spectral/surface_posterior.hpp"
#include "spectral/surfaces.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_json.hpp"
#include "workbook/nearest.hpp"

namespace {

using namespace sw;  // NOLINT(google-build-using-namespace): a program of its own

struct Job {
    std::string name;
    double goal_ms;             // 0: none
    std::function<bool()> run;  // whether the answer is right
};

double median_ms(const std::function<bool()>& run, int times, bool& right) {
    std::vector<double> all;
    for (int i = 0; i < times; ++i) {
        const auto start = std::chrono::steady_clock::now();
        right = run() && right;
        all.push_back(std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count());
    }
    std::nth_element(all.begin(), all.begin() + times / 2, all.end());
    return all[static_cast<std::size_t>(times / 2)];
}

Calibration chart_calibration(const Light& lamp, const Sensitivity& prior) {
    const SensorSetup setup{1000, 1000, Eigen::Matrix3d::Identity(), true, lamp, prior, {}, false, 0};
    std::vector<ReferenceColor> references;
    for (int i = 0; i < 24; ++i) {
        const ModelSpectrum r = chart_reflectances().col(i);
        const Eigen::Vector3d rgb = prior.mean * r;
        references.push_back({"patch", rgb, (0.01 * rgb).cwiseAbs2().asDiagonal(), {500, 500}, r, {}, 0});
    }
    Calibration calibration;
    calibration.sensor = std::make_shared<const SensorModel>(setup, references);
    return calibration;
}

/// A bench photo made larger, as JPEG of quality 92, in a file that goes away.
struct LargePhoto {
    explicit LargePhoto(int width) {
        const cv::Mat small = cv::imread(SW_TESTS "/photos/case-02/photo.jpg", cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
        scale = static_cast<double>(width) / small.cols;
        cv::Mat large;
        cv::resize(small, large, {}, scale, scale, cv::INTER_CUBIC);
        cv::imwrite(path, large, {cv::IMWRITE_JPEG_QUALITY, 92});
    }
    LargePhoto(const LargePhoto&) = delete;
    LargePhoto& operator=(const LargePhoto&) = delete;
    ~LargePhoto() { std::filesystem::remove(path); }

    [[nodiscard]] std::string box(std::initializer_list<int> at_small) const {
        std::string text;
        for (const int v : at_small) text += (text.empty() ? "" : ",") + std::to_string(static_cast<int>(v * scale));
        return text;
    }
    double scale = 1;
    std::string path = (std::filesystem::temp_directory_path() / ("bench_jobs_" + std::to_string(::getpid()) + ".jpg")).string();
};

/// A workbook of a shop, in a file that goes away: targets, and five readings of each with as much text as one of a photo with a gray card has.
struct LargeBook {
    explicit LargeBook(int count) {
        std::mt19937 random(33);
        std::uniform_real_distribution<double> lightness(5, 95), hue(-60, 60);
        const auto color = [&] {
            const double L = lightness(random), a = hue(random), b = hue(random);
            return Lab{L, a, b};
        };
        auto workbook = Workbook::open(path, true);
        const auto filled = workbook ? workbook->together("all of it",
                                                          [&]() -> Result<Done> {
                                                              for (int number = 0; number < count; ++number) {
                                                                  Target target;
                                                                  target.name = "color " + std::to_string(number);
                                                                  target.lab = color();
                                                                  target.lab_covariance = 0.16 * Eigen::Matrix3d::Identity();
                                                                  target.source = "bench.jpg 100,20,50,50";
                                                                  if (const auto added = workbook->add(target); !added) return added.error();
                                                              }
                                                              for (int number = 0; number < 5 * count; ++number) {
                                                                  KeptReading reading;
                                                                  reading.name = "swatch " + std::to_string(number);
                                                                  reading.target = number % count + 1;
                                                                  reading.photo_file = "bench.jpg";
                                                                  reading.light = "D50";
                                                                  reading.calibration_json = "{\"note\":\"" + std::string(600, 'x') + "\"}";
                                                                  reading.lab = color();
                                                                  reading.lab_covariance = 0.16 * Eigen::Matrix3d::Identity();
                                                                  if (const auto added = workbook->add(reading); !added) return added.error();
                                                              }
                                                              return Done{};
                                                          })
                                     : Result<Done>(workbook.error());
        if (!filled) std::fprintf(stderr, "bench_jobs: %s\n", describe(filled.error()).c_str());
        if (const auto all = workbook->targets()) targets.targets = *all;
        for (const Target& target : targets.targets) colors.push_back(under_d50(target.lab));
    }
    LargeBook(const LargeBook&) = delete;
    LargeBook& operator=(const LargeBook&) = delete;
    ~LargeBook() { std::filesystem::remove(path); }

    /// Opened and all of it read, every checksum looked at.
    [[nodiscard]] bool opens() const {
        const auto workbook = Workbook::open(path, false);
        if (!workbook) return false;
        const auto all = workbook->targets();
        const auto readings = workbook->readings();
        return all && readings && readings->size() == 5 * all->size() && all->size() == colors.size();
    }
    [[nodiscard]] bool same(const Result<Exchange>& read) const {
        return read && std::equal(read->targets.begin(), read->targets.end(), targets.targets.begin(), targets.targets.end(),
                                  [](const Target& a, const Target& b) {
                                      return a.name == b.name && a.lab.L == b.lab.L && a.lab.a == b.lab.a && a.lab.b == b.lab.b &&
                                             a.lab_covariance == b.lab_covariance && a.source == b.source;
                                  });
    }

    std::string path = (std::filesystem::temp_directory_path() / ("bench_jobs_" + std::to_string(::getpid()) + ".swb")).string();
    Exchange targets;
    std::vector<Lab> colors;
};

/// `measure` with a gray card, the whole command, beside decoding the same file into a picture of 8 bits with OpenCV.
bool measure_beside_decoding(bool smoke) {
    const LargePhoto photo(smoke ? 1500 : 6000);
    const std::vector<std::string> words{
        "measure", photo.path, "--gray", photo.box({840, 97, 219, 162}) + "=18.33", "--region", "chip=" + photo.box({179, 138, 173, 183})};
    bool right = true;
    std::vector<double> ratios, decoding;
    for (int i = 0; i < (smoke ? 1 : 9); ++i) {
        const double decode = median_ms([&] { return cv::imread(photo.path).cols > 1000; }, 1, right);
        const double measure = median_ms(
            [&] {
                std::ostringstream out, err;
                return run_command(words, out, err) == 0 && out.str().find("chip") != std::string::npos;
            },
            1, right);
        decoding.push_back(decode);
        ratios.push_back(measure / decode);
    }
    const auto median = [](std::vector<double> v) {
        std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
        return v[v.size() / 2];
    };
    std::printf("measure, %s JPEG with a gray card: %.2f x decoding it with OpenCV (%.0f ms); goal 1.5\n", smoke ? "small" : "24 MP", median(ratios),
                median(decoding));
    return right;
}

}  // namespace

int main(int argc, char** argv) {
    const bool smoke = argc > 1 && std::strcmp(argv[1], "--smoke") == 0;
    if (argc > 2 || (argc == 2 && !smoke)) {
        std::fprintf(stderr, "usage: bench_jobs [--smoke]\n");
        return 2;
    }
    std::vector<float> from(3'000'000, 0.5F), to(from.size());
    const Light led = *light("led:4000,ra=80"), b3 = *light("LED-B3"), d65 = *light("D65");
    const Sensitivity prior = sensitivity_prior(b3, Rendering::raw);
    const Calibration calibration = chart_calibration(b3, prior);
    const LibraryView target = lab_view(d65, Observer::degree2);
    RegionStatistics read;
    read.mean = prior.mean * chart_reflectances().col(9);
    read.covariance = 1e-6 * Eigen::Matrix3d::Identity();
    const ObserverMatrix at_b3 = observer_matrix(b3, Observer::degree2), at_d65 = observer_matrix(d65, Observer::degree2);
    const Eigen::Vector3d purple = at_b3 * chart_reflectances().col(9);
    const Xyz purple_xyz{100 * purple[0], 100 * purple[1], 100 * purple[2]};
    const Lab purple_lab = lab(purple_xyz, xyz(b3, Observer::degree2));
    int cct = 3000;
    const LargeBook book(smoke ? 200 : 10'000);
    const std::string many = smoke ? "200 targets" : "10 000 targets";

    const std::vector<Job> jobs{
        {"copy of a megapixel of float RGB", 0,
         [&] {
             std::memcpy(to.data(), from.data(), 4 * from.size());
             return to[77] == 0.5F;
         }},
        {"shop LED with its 60 spectra", 20, [&] { return light("led:" + std::to_string(++cct) + ",ra=80").operator bool(); }},
        {"Ra, Rf and the rest, +- of a shop LED", 200, [&] { return light_quality_sd(led).ra > 0.5; }},
        {"the library under a new light", 30, [&] { return lab_view(led, Observer::degree2).cols() > 40000; }},
        {"spectrum behind a color (posterior)", 5, [&] { return surface_posterior(purple_lab, kExact, b3, Observer::degree2)->distance < 8; }},
        {"smoothest spectrum of a color", 1, [&] { return smooth_surface(purple_xyz, b3, Observer::degree2).operator bool(); }},
        {"98 vertices of a mismatch body", 1, [&] { return mismatch_extremes(at_b3, purple, at_d65, 98).size() > 90; }},
        {"prior of a camera under a light", 30, [&] { return sensitivity_prior(b3).covariance.trace() > 0; }},
        {"calibration from 24 patches", 20, [&] { return chart_calibration(b3, prior).sensor->weights()[0] > 0.5; }},
        {"color of a region, its light's view at hand", 1,
         [&] {
             return std::abs(surface_color(calibration, read, {500, 500}, d65, Observer::degree2, target).lab[0] - 30.5) < 3;
         }},
        {many + " and 5 readings of each: open, read all", 500, [&] { return book.opens(); }},
        {"nearest to a color, of " + many, 20, [&] { return nearest(book.colors, book.colors[7], 3).front().index == 7; }},
        {many + " as JSON and back", 0, [&] { return book.same(exchange_of_json(exchange_json(book.targets), "")); }},
        {many + " as CxF and back", 0, [&] { return book.same(exchange_of_cxf(cxf_text(book.targets, "2031-05-06T07:08:09Z").text, {})); }}};
    double copy = 0;
    bool right = true;
    std::printf("%-50s %9s %9s %9s\n", "job", "ms", "goal", "per copy");
    for (const Job& job : jobs) {
        const double ms = median_ms(job.run, smoke ? 1 : 9, right);
        if (copy == 0) copy = ms;  // the first
        std::printf("%-50s %9.2f %9s %9.1f\n", job.name.c_str(), ms, job.goal_ms > 0 ? std::to_string(static_cast<int>(job.goal_ms)).c_str() : "",
                    ms / copy);
        if (!right) {
            std::fprintf(stderr, "bench_jobs: wrong answer: %s\n", job.name.c_str());
            return 1;
        }
    }
    if (!measure_beside_decoding(smoke)) {
        std::fprintf(stderr, "bench_jobs: measure gave a wrong answer\n");
        return 1;
    }
    return 0;
}
