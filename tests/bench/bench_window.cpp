// How quick the window is, on whatever display and OpenGL there is (tests: Xvfb, drawing in software), with the goals beside it:
// the first frame, a photo of 24 megapixels against decoding it, the longest frame while that loads, frames while the picture is moved, and the
// processor's share when nothing happens. Figures are looked at by people; what ends the program with 1 is a window that does not do as told.
//   bench_window PROGRAM FOLDER [--smoke]        FOLDER: a photo is made there; it is removed again
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "photo/photo.hpp"

extern char** environ;

namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

double ms_since(Clock::time_point start) { return std::chrono::duration<double, std::milli>(Clock::now() - start).count(); }

[[noreturn]] void give_up(const std::string& why) {
    std::fprintf(stderr, "bench_window: %s\n", why.c_str());
    std::exit(1);
}

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values.empty() ? 0 : values[values.size() / 2];
}

pid_t start(const std::vector<std::string>& words) {
    std::vector<std::string> kept = words;
    std::vector<char*> arguments;
    for (std::string& word : kept) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    pid_t child = 0;
    if (posix_spawn(&child, arguments[0], nullptr, nullptr, arguments.data(), environ) != 0) give_up("cannot start " + words[0]);
    return child;
}

struct Bench {
    std::string program;
    fs::path folder;

    struct Ran {
        double first_frame_ms = 0, photo_ms = 0;  // since the start
        nlohmann::json busy, moved;
    };
    [[nodiscard]] Ran window(const fs::path& photo, const std::string& script) const {
        const fs::path timings = folder / "timings.json", lines = folder / "lines.script";
        std::ofstream(lines) << script;
        std::vector<std::string> words{program,        "window",
                                       "--size",       "1600x1000",
                                       "--workbook",   (folder / "w.swb").string(),
                                       "--script",     lines.string(),
                                       "--screenshot", (folder / "shot.png").string(),
                                       "--timings",    timings.string()};
        if (!photo.empty()) words.push_back(photo.string());
        const std::int64_t began = std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now().time_since_epoch()).count();
        const pid_t child = start(words);
        int status = 0;
        waitpid(child, &status, 0);
        if (status != 0) give_up("the window ended with " + std::to_string(status));
        std::ifstream in(timings);
        const auto json = nlohmann::json::parse(in, nullptr, false);
        if (!json.is_object()) give_up("the window left no timings");
        const auto at = [&](const char* name) { return static_cast<double>(json.at(name).get<std::int64_t>() - began) / 1e6; };
        return {at("first_frame_ns"), json.at("photo_ns") == 0 ? 0 : at("photo_ns"), json.at("busy"), json.at("moved")};
    }
};

/// Processor time of a process, seconds.
std::optional<double> processor_time(pid_t process) {
    std::ifstream in("/proc/" + std::to_string(process) + "/stat");
    std::string text;
    std::getline(in, text);
    const std::size_t end = text.rfind(')');
    if (end == std::string::npos) return std::nullopt;
    std::istringstream fields(text.substr(end + 2));
    std::string skipped;
    for (int i = 0; i < 11; ++i) fields >> skipped;
    double user = 0, system = 0;
    if (!(fields >> user >> system)) return std::nullopt;
    return (user + system) / static_cast<double>(sysconf(_SC_CLK_TCK));
}

void row(const char* what, double value, const char* unit, const char* goal) { std::printf("  %-66s %8.2f %-4s %s\n", what, value, unit, goal); }

}  // namespace

int main(int argc, char** argv) {
    if (argc < 3) give_up("usage: bench_window PROGRAM FOLDER [--smoke]");
    const bool smoke = argc > 3 && std::strcmp(argv[3], "--smoke") == 0;
    Bench bench{argv[1], fs::absolute(argv[2])};
    fs::remove_all(bench.folder);
    fs::create_directories(bench.folder);
    for (const char* variable : {"XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"}) setenv(variable, bench.folder.c_str(), 1);

    // A photo of 24 megapixels with detail and grain, as cameras write it.
    const cv::Size size = smoke ? cv::Size(1500, 1000) : cv::Size(6000, 4000);
    cv::Mat noise(size, CV_8UC3), picture;
    cv::RNG random(1);
    random.fill(noise, cv::RNG::NORMAL, cv::Scalar::all(128), cv::Scalar::all(12));
    cv::GaussianBlur(noise, picture, {}, 1.0);
    for (int i = 0; i < 60; ++i) {
        const cv::Point at(random.uniform(0, size.width), random.uniform(0, size.height));
        cv::rectangle(picture, {at.x, at.y, size.width / 10, size.height / 10},
                      {random.uniform(0., 255.), random.uniform(0., 255.), random.uniform(0., 255.)}, 3);
    }
    const fs::path photo = bench.folder / "photo.jpg";
    if (!cv::imwrite(photo.string(), picture, {cv::IMWRITE_JPEG_QUALITY, 92})) give_up("no photo could be written");

    const int repeats = smoke ? 1 : 5;
    std::vector<double> first, shown, stall, decode, opencv, fps_fit, fps_close;
    (void)sw::load_photo(photo);  // libraries and file are at hand
    for (int i = 0; i < repeats; ++i) {
        auto begin = Clock::now();
        const auto loaded = sw::load_photo(photo);
        if (!loaded) give_up(sw::describe(loaded.error()));
        decode.push_back(ms_since(begin));
        begin = Clock::now();
        if (cv::imread(photo.string()).empty()) give_up("OpenCV cannot read the photo");
        opencv.push_back(ms_since(begin));
    }
    for (int i = 0; i < repeats; ++i) {
        const Bench::Ran empty = bench.window({}, "");
        first.push_back(empty.first_frame_ms);
        const Bench::Ran ran = bench.window(photo, "");
        if (ran.photo_ms <= 0) give_up("the photo was not shown");
        shown.push_back(ran.photo_ms - ran.first_frame_ms);
        if (ran.busy.is_object()) stall.push_back(ran.busy.at("longest_ms").get<double>());
    }
    std::string pan = "wait\nzoom 0.25\n", close = "wait\nzoom 1\n";
    for (int i = 0; i < (smoke ? 5 : 60); ++i) {
        const std::string to = "look-at " + std::to_string(size.width / 4 + 20 * i) + "," + std::to_string(size.height / 4 + 10 * i) + "\n";
        pan += to;
        close += to;
    }
    for (auto& [script, fps] : {std::pair{pan, &fps_fit}, {close, &fps_close}}) {
        const Bench::Ran ran = bench.window(photo, script);
        if (!ran.moved.is_object() || ran.moved.at("frames") < (smoke ? 5 : 60)) give_up("the picture did not move");
        fps->push_back(1000 / ran.moved.at("median_ms").get<double>());
    }

    const pid_t idle = start({bench.program, "window", "--size", "1600x1000", "--workbook", (bench.folder / "w.swb").string(), photo.string()});
    std::this_thread::sleep_for(std::chrono::seconds(smoke ? 2 : 8));
    const auto before = processor_time(idle);
    const auto began = Clock::now();
    std::this_thread::sleep_for(std::chrono::seconds(smoke ? 1 : 10));
    const auto after = processor_time(idle);
    if (!before || !after) give_up("the window ended by itself");
    const double share = 100 * (*after - *before) / (ms_since(began) / 1000);
    kill(idle, SIGTERM);
    waitpid(idle, nullptr, 0);

    std::printf("The window, 1600x1000, photo of %.1f megapixels; medians of %d\n", size.area() / 1e6, repeats);
    row("first frame after the start", median(first), "ms", "goal 300");
    row("photo on the screen, from the first frame", median(shown), "ms", "");
    row("  of that, decoding alone", median(decode), "ms", "");
    row("  ratio", median(shown) / median(decode), "", "goal 1.3");
    row("  OpenCV reading the same file", median(opencv), "ms", "");
    row("longest frame while it loads and is worked on", stall.empty() ? 0 : *std::max_element(stall.begin(), stall.end()), "ms", "goal 100");
    row("frames a second while moved, a quarter of the size", median(fps_fit), "", "goal 30");
    row("frames a second while moved, pixel for pixel", median(fps_close), "", "goal 30");
    row("processor when nothing happens", share, "%", "goal 1");
    fs::remove_all(bench.folder);
    return 0;
}
