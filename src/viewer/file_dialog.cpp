#include "viewer/file_dialog.hpp"

#include <fcntl.h>
#include <poll.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <filesystem>
#include <vector>

extern char** environ;

namespace sw::window {
namespace {

constexpr std::size_t kMostAnswer = 64U << 10U;  // no path is longer

std::vector<std::string> arguments_of(const std::string& helper, const std::string& folder) {
    const std::string start = folder.empty() ? "." : folder + "/";
    if (std::filesystem::path(helper).filename() == "kdialog") return {helper, "--title", "Choose a photo", "--getopenfilename", start};
    return {helper, "--file-selection", "--title=Choose a photo", "--filename=" + start};
}

}  // namespace

std::optional<std::string> dialog_helper(const std::string& path) {
    for (const char* name : {"zenity", "kdialog"}) {
        for (std::size_t start = 0; start <= path.size();) {
            const std::size_t end = std::min(path.find(':', start), path.size());
            const std::filesystem::path folder = path.substr(start, end - start);
            start = end + 1;
            if (!folder.is_absolute()) continue;  // what lies in the current folder is not the desktop's
            const std::filesystem::path file = folder / name;
            if (access(file.c_str(), X_OK) == 0) return file.string();
        }
    }
    return std::nullopt;
}

Result<std::string> ask_for_picture(const std::string& helper, const std::string& folder, const std::stop_token& stop) {
    const Error cannot{Fault::file_missing, helper, "", "the desktop's dialog cannot be opened", "type the path, or drop the file on the window"};
    std::array<int, 2> ends{};
    if (pipe2(ends.data(), O_CLOEXEC) != 0) return cannot;
    posix_spawn_file_actions_t actions{};
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
    std::vector<std::string> words = arguments_of(helper, folder);
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    pid_t child = 0;
    const int failed = posix_spawn(&child, helper.c_str(), &actions, nullptr, arguments.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    if (failed != 0) {
        close(ends[0]);
        return cannot;
    }
    std::string answer;
    bool stopped = false;
    while (!stopped) {
        pollfd waiting{ends[0], POLLIN, 0};
        const int ready = poll(&waiting, 1, 100);
        stopped = stop.stop_requested() || answer.size() > kMostAnswer;
        if (ready <= 0) continue;
        std::array<char, 4096> block{};
        const ssize_t got = read(ends[0], block.data(), block.size());
        if (got <= 0) break;
        answer.append(block.data(), static_cast<std::size_t>(got));
    }
    close(ends[0]);
    if (stopped) kill(child, SIGTERM);
    int status = 0;
    waitpid(child, &status, 0);
    if (stopped || !WIFEXITED(status) || WEXITSTATUS(status) != 0) return std::string();
    while (!answer.empty() && (answer.back() == '\n' || answer.back() == '\r')) answer.pop_back();
    return answer;
}

}  // namespace sw::window
