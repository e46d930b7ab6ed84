// Times the rows of color/rows.hpp, on each instruction set of the machine, beside the definitions in double and beside outside yardsticks: Little
// CMS, OpenCV, and copying as many bytes. Repetitions are interleaved; figures are medians of the thread's own time. Every run's results are looked
// at: a wrong one ends the program with 1, and none can be left out by the compiler.
//   bench_rows [--smoke] [--megapixels=N] [Google Benchmark's options]
#include <benchmark/benchmark.h>
#include <hwy/highway.h>
#include <lcms2.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <functional>
#include <map>
#include <memory>
#include <opencv2/imgproc.hpp>
#include <random>
#include <string>
#include <vector>

#include "color/adaptation.hpp"
#include "color/difference.hpp"
#include "color/rows.hpp"

namespace {

using sw::Lab;
using sw::LinearRgb;

const Lab kTarget{52, 20, -31};

struct Picture {
    std::size_t pixels;
    std::vector<std::uint8_t> bytes;
    std::vector<float> linear, lab, out;  // out: what is being timed writes here

    explicit Picture(std::size_t n) : pixels(n), bytes(3 * n), linear(3 * n), lab(3 * n), out(3 * n) {
        std::mt19937 random(20240617);
        for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random() >> 24);
        sw::srgb_to_linear_rows(bytes, linear);
        sw::lab_rows(linear, sw::RgbToLab::srgb(), lab);
    }
    [[nodiscard]] LinearRgb color(std::size_t i) const {
        return sw::decode(sw::EncodedRgb{bytes[3 * i] / 255.0, bytes[3 * i + 1] / 255.0, bytes[3 * i + 2] / 255.0});
    }
};

Lab lab_d50(const LinearRgb& c) { return sw::lab(sw::adapt(sw::xyz(c), sw::xyz(LinearRgb{1, 1, 1}), sw::kWhiteD50), sw::kWhiteD50); }
Lab lab_d65(const LinearRgb& c) { return sw::lab(sw::xyz(c), sw::xyz(LinearRgb{1, 1, 1})); }

sw::RgbToLab map_d65() {
    const sw::Xyz r = sw::xyz(LinearRgb{1, 0, 0}), g = sw::xyz(LinearRgb{0, 1, 0}), b = sw::xyz(LinearRgb{0, 0, 1});
    return {{r.X, g.X, b.X, r.Y, g.Y, b.Y, r.Z, g.Z, b.Z}, sw::xyz(LinearRgb{1, 1, 1})};
}

/// Little CMS from 8-bit sRGB to float Lab (D50).
class LcmsTransform {
public:
    LcmsTransform() {
        const cmsHPROFILE srgb = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(nullptr);
        transform_ = cmsCreateTransform(srgb, TYPE_RGB_8, lab, TYPE_Lab_FLT, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOCACHE);
        cmsCloseProfile(srgb);
        cmsCloseProfile(lab);
    }
    LcmsTransform(const LcmsTransform&) = delete;
    LcmsTransform& operator=(const LcmsTransform&) = delete;
    ~LcmsTransform() { cmsDeleteTransform(transform_); }
    void operator()(const std::uint8_t* in, float* out, std::size_t pixels) const {
        cmsDoTransform(transform_, in, out, static_cast<cmsUInt32Number>(pixels));
    }

private:
    cmsHTRANSFORM transform_;
};

void lcms_difference(const float* lab, float* out, std::size_t pixels) {
    const cmsCIELab target{kTarget.L, kTarget.a, kTarget.b};
    for (std::size_t i = 0; i < pixels; ++i) {
        const cmsCIELab color{lab[3 * i], lab[3 * i + 1], lab[3 * i + 2]};
        out[i] = static_cast<float>(cmsCIE2000DeltaE(&target, &color, 1, 1, 1));
    }
}

/// One thing to time: what it does to the first `pixels` of the picture, how many values a pixel come out, and what they should be.
struct Job {
    std::string work, by;
    std::size_t pixels;
    std::function<void(Picture&, std::size_t)> run;
    std::size_t values;
    std::function<void(const Picture&, std::size_t, double*)> expected;  // null: a copy, nothing to compare
    double tolerance;
    std::int64_t instruction_set;  // 0: does not matter
};

void put(const Lab& color, double* to) { to[0] = color.L, to[1] = color.a, to[2] = color.b; }
void expect_linear(const Picture& p, std::size_t i, double* to) {
    const LinearRgb c = p.color(i);
    to[0] = c.r, to[1] = c.g, to[2] = c.b;
}
void expect_lab_d50(const Picture& p, std::size_t i, double* to) { put(lab_d50(p.color(i)), to); }
void expect_lab_d65(const Picture& p, std::size_t i, double* to) { put(lab_d65(p.color(i)), to); }
void expect_difference(const Picture& p, std::size_t i, double* to) { *to = sw::difference_2000(kTarget, lab_d50(p.color(i))); }

const char* const kDifference = "Lab to CIEDE2000";
const char* const kFused = "sRGB 8 bits to CIEDE2000";
const char* const kEncodedLab = "sRGB 8 bits to Lab";
const char* const kLinearLab = "linear to Lab";
const char* const kDecode = "sRGB 8 bits to linear";

/// Copies as many bytes as the work reads and writes; memcpy reads and writes each, so half their sum.
void copy(const Picture& p, Picture& to, std::size_t pixels, std::size_t bytes_a_pixel) {
    std::memcpy(to.out.data(), p.lab.data(), pixels * bytes_a_pixel / 2);
}

std::vector<Job> jobs(std::size_t all) {
    std::vector<Job> list;
    const std::size_t some = std::max<std::size_t>(all / 16, 1000);  // for what is slow: a pixel takes the same time
    const double lab = sw::kLabRowsMaxError, difference = sw::kDifferenceRowsMaxError + 2 * lab;
    const auto copying = [&](const char* work, std::size_t bytes) {
        list.push_back({work, "copy", all, [bytes](Picture& p, std::size_t n) { copy(p, p, n, bytes); }, 0, nullptr, 0, 0});
    };
    copying(kDifference, 16);
    copying(kFused, 7);
    copying(kEncodedLab, 15);
    copying(kLinearLab, 24);
    copying(kDecode, 15);

    // The program's own definitions, a color at a time in double.
    list.push_back({kDifference, "double", some,
                    [](Picture& p, std::size_t n) {
                        for (std::size_t i = 0; i < n; ++i)
                            p.out[i] = static_cast<float>(sw::difference_2000(kTarget, Lab{p.lab[3 * i], p.lab[3 * i + 1], p.lab[3 * i + 2]}));
                    },
                    1, expect_difference, difference, 0});
    list.push_back({kLinearLab, "double", some,
                    [](Picture& p, std::size_t n) {
                        for (std::size_t i = 0; i < n; ++i) {
                            const Lab c = lab_d65({p.linear[3 * i], p.linear[3 * i + 1], p.linear[3 * i + 2]});
                            p.out[3 * i] = static_cast<float>(c.L), p.out[3 * i + 1] = static_cast<float>(c.a);
                            p.out[3 * i + 2] = static_cast<float>(c.b);
                        }
                    },
                    3, expect_lab_d65, lab, 0});

    // Yardsticks. Tolerances: Little CMS's sRGB profile holds 16 fractional bits and takes its curve from tables; OpenCV's matrix has six digits and
    // its cube root a table.
    const auto lcms = std::make_shared<LcmsTransform>();
    list.push_back({kDifference, "Little CMS", some, [](Picture& p, std::size_t n) { lcms_difference(p.lab.data(), p.out.data(), n); }, 1,
                    expect_difference, 1e-3, 0});
    list.push_back({kEncodedLab, "Little CMS", some, [lcms](Picture& p, std::size_t n) { (*lcms)(p.bytes.data(), p.out.data(), n); }, 3,
                    expect_lab_d50, 0.02, 0});
    const auto between = std::make_shared<std::vector<float>>(3 * some);
    list.push_back({kFused, "Little CMS", some,
                    [lcms, between](Picture& p, std::size_t n) {
                        (*lcms)(p.bytes.data(), between->data(), n);
                        lcms_difference(between->data(), p.out.data(), n);
                    },
                    1, expect_difference, 0.02, 0});
    list.push_back({kLinearLab, "OpenCV", all,
                    [](Picture& p, std::size_t n) {
                        const cv::Mat in(1, static_cast<int>(n), CV_32FC3, p.linear.data());
                        cv::Mat out(1, static_cast<int>(n), CV_32FC3, p.out.data());
                        cv::cvtColor(in, out, cv::COLOR_LRGB2Lab);
                    },
                    3, expect_lab_d65, 0.02, 0});
    cv::Mat table(1, 256, CV_32FC1);
    for (int i = 0; i < 256; ++i) table.at<float>(i) = static_cast<float>(sw::srgb_to_linear(i / 255.0));
    list.push_back({kDecode, "OpenCV", all,
                    [table](Picture& p, std::size_t n) {
                        const cv::Mat in(1, static_cast<int>(n), CV_8UC3, p.bytes.data());
                        cv::Mat out(1, static_cast<int>(n), CV_32FC3, p.out.data());
                        cv::LUT(in, table, out);
                    },
                    3, expect_linear, 6e-8, 0});
    list.push_back({kDecode, "rows", all,
                    [](Picture& p, std::size_t n) { sw::srgb_to_linear_rows(std::span(p.bytes).first(3 * n), std::span(p.out)); }, 3, expect_linear,
                    6e-8, 0});

    for (const std::int64_t set : hwy::SupportedAndGeneratedTargets()) {
        const std::string by = std::string("rows ") + hwy::TargetName(set);
        const std::size_t n_here = set == HWY_SCALAR ? some : all;
        const auto add = [&](const char* work, std::function<void(Picture&, std::size_t)> run, std::size_t values,
                             std::function<void(const Picture&, std::size_t, double*)> expected, double tolerance) {
            list.push_back({work, by, n_here, std::move(run), values, std::move(expected), tolerance, set});
        };
        add(
            kDifference,
            [](Picture& p, std::size_t n) {
                sw::difference_2000_rows(std::span<const float>(p.lab).first(3 * n), kTarget, std::span(p.out).first(n));
            },
            1, expect_difference, difference);
        add(
            kFused,
            [map = sw::RgbToLab::srgb()](Picture& p, std::size_t n) {
                sw::difference_2000_rows(std::span<const std::uint8_t>(p.bytes).first(3 * n), map, kTarget, std::span(p.out).first(n));
            },
            1, expect_difference, difference);
        add(
            kEncodedLab,
            [map = sw::RgbToLab::srgb()](Picture& p, std::size_t n) {
                sw::lab_rows(std::span<const std::uint8_t>(p.bytes).first(3 * n), map, std::span(p.out).first(3 * n));
            },
            3, expect_lab_d50, lab);
        add(
            kLinearLab,
            [map = map_d65()](Picture& p, std::size_t n) {
                sw::lab_rows(std::span<const float>(p.linear).first(3 * n), map, std::span(p.out).first(3 * n));
            },
            3, expect_lab_d65, lab);
    }
    return list;
}

/// What is wrong with what a job left behind, looking at a thousand pixels; empty if nothing.
std::string what_is_wrong(const Job& job, const Picture& p) {
    if (job.instruction_set != 0 && sw::rows_instruction_set() != hwy::TargetName(job.instruction_set)) return "another instruction set ran";
    if (!job.expected) return std::equal(p.out.begin(), p.out.begin() + 3, p.lab.begin()) ? "" : "not copied";
    const std::size_t step = std::max<std::size_t>(job.pixels / 1000, 1);
    for (std::size_t i = 0; i < job.pixels; i += step) {
        double expected[3];
        job.expected(p, i, expected);
        for (std::size_t k = 0; k < job.values; ++k) {
            const double actual = p.out[job.values * i + k];
            if (!(std::abs(actual - expected[k]) <= job.tolerance)) {
                return "pixel " + std::to_string(i) + ", value " + std::to_string(k) + ": expected " + std::to_string(expected[k]) + ", got " +
                       std::to_string(actual) + ", tolerance " + std::to_string(job.tolerance);
            }
        }
    }
    return "";
}

std::string name(const std::string& work, const std::string& by) { return work + " / " + by; }

class Medians : public benchmark::ConsoleReporter {
public:
    Medians() : ConsoleReporter(OO_Tabular) {}
    void ReportRuns(const std::vector<Run>& runs) override {
        for (const Run& run : runs) {
            wrong_ = wrong_ || run.error_occurred;
            if (!run.error_occurred && run.run_type == Run::RT_Iteration) rates_[run.run_name.function_name].push_back(run.counters.at("MP/s").value);
        }
        ConsoleReporter::ReportRuns(runs);
    }
    [[nodiscard]] bool wrong() const { return wrong_; }
    /// In megapixels a second, 0 if not timed.
    [[nodiscard]] double rate(const std::string& work, const std::string& by) const {
        const auto at = rates_.find(name(work, by));
        if (at == rates_.end()) return 0;
        std::vector<double> sorted = at->second;
        std::sort(sorted.begin(), sorted.end());
        return sorted[sorted.size() / 2];
    }

private:
    std::map<std::string, std::vector<double>> rates_;
    bool wrong_ = false;
};

void print_table(const Medians& medians) {
    std::printf("\n%-26s %-12s", "megapixels a second", "");
    const std::vector<std::string> columns{"copy", "double", "Little CMS", "OpenCV"};
    for (const auto& column : columns) std::printf("%11s", column.c_str());
    std::printf("\n");
    std::vector<std::string> sets{""};  // the first: for what is the same on all
    for (const std::int64_t set : hwy::SupportedAndGeneratedTargets()) sets.push_back(hwy::TargetName(set));
    for (const char* work : {kDifference, kFused, kEncodedLab, kLinearLab, kDecode}) {
        std::printf("%-39s", work);
        for (const auto& column : columns) {
            const double rate = medians.rate(work, column);
            rate > 0 ? std::printf("%11.1f", rate) : std::printf("%11s", "");
        }
        std::printf("\n");
        for (const auto& set : sets) {
            const double rate = medians.rate(work, set.empty() ? "rows" : "rows " + set);
            if (rate <= 0) continue;
            std::printf("%26s %-7s %5.0f", "rows", set.c_str(), rate);
            for (const auto& column : columns) {
                const double other = medians.rate(work, column);
                other > 0 ? std::printf("%10.2fx", rate / other) : std::printf("%11s", "");
            }
            std::printf("\n");
        }
    }
    // The goals are those of the project; they are about the instruction sets of this column only.
    struct Goal {
        const char *work, *set, *against;
        double least;
    };
    constexpr double sixth = 1.0 / 6;
    const Goal goals[] = {{kDifference, "rows AVX3", "Little CMS", 40}, {kDifference, "rows AVX3", "copy", sixth},
                          {kDifference, "rows AVX2", "Little CMS", 25}, {kFused, "rows AVX3", "Little CMS", 25},
                          {kFused, "rows AVX2", "Little CMS", 25},      {kEncodedLab, "rows AVX3", "Little CMS", 50},
                          {kLinearLab, "rows AVX3", "OpenCV", 2.5},     {kDecode, "rows", "OpenCV", 0.9}};
    std::printf("\n%-26s %-10s %-11s %9s %9s\n", "times as fast", "", "as", "reached", "goal");
    for (const Goal& goal : goals) {
        const double ours = medians.rate(goal.work, goal.set), other = medians.rate(goal.work, goal.against);
        if (ours <= 0 || other <= 0) continue;
        std::printf("%-26s %-10s %-11s %9.2f %9.2f  %s\n", goal.work, goal.set, goal.against, ours / other, goal.least,
                    ours / other >= goal.least ? "met" : "MISSED");
    }
}

}  // namespace

int main(int argc, char** argv) {
    bool smoke = false;
    double megapixels = 8;
    std::vector<std::string> options{argv[0], "--benchmark_enable_random_interleaving=true"};
    std::vector<std::string> rest;
    for (int i = 1; i < argc; ++i) {
        const std::string option = argv[i];
        if (option == "--smoke")
            smoke = true;
        else if (option.starts_with("--megapixels="))
            megapixels = std::atof(option.c_str() + std::strlen("--megapixels="));
        else
            rest.push_back(option);
    }
    if (smoke) megapixels = 0.02;
    if (!(megapixels >= 0.001 && megapixels <= 200)) {
        std::fprintf(stderr, "bench_rows: --megapixels must be 0.001..200\n");
        return 2;
    }
    options.push_back(smoke ? "--benchmark_min_time=0.0001" : "--benchmark_min_time=0.05");
    options.push_back(smoke ? "--benchmark_repetitions=1" : "--benchmark_repetitions=9");
    options.insert(options.end(), rest.begin(), rest.end());
    std::vector<char*> pointers;
    for (auto& option : options) pointers.push_back(option.data());
    int count = static_cast<int>(pointers.size());
    benchmark::Initialize(&count, pointers.data());
    if (benchmark::ReportUnrecognizedArguments(count, pointers.data())) return 2;

    cv::setNumThreads(1);
    Picture picture(static_cast<std::size_t>(megapixels * 1e6));
    const std::vector<Job> list = jobs(picture.pixels);
    for (const Job& job : list) {
        benchmark::RegisterBenchmark(name(job.work, job.by).c_str(), [&job, &picture](benchmark::State& state) {
            hwy::SetSupportedTargetsForTest(job.instruction_set);
            std::fill(picture.out.begin(), picture.out.end(), -1.0F);
            for (auto _ : state) {
                job.run(picture, job.pixels);
                benchmark::ClobberMemory();
            }
            const std::string wrong = what_is_wrong(job, picture);
            hwy::SetSupportedTargetsForTest(0);
            if (!wrong.empty()) state.SkipWithError(wrong.c_str());
            state.counters["MP/s"] =
                benchmark::Counter(static_cast<double>(job.pixels) * 1e-6 * static_cast<double>(state.iterations()), benchmark::Counter::kIsRate);
        });
    }
    Medians medians;
    benchmark::RunSpecifiedBenchmarks(&medians);
    if (!smoke) print_table(medians);
    return medians.wrong() ? 1 : 0;
}
