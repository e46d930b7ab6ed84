#include "cli/files.hpp"

#include <cerrno>
#include <fstream>
#include <system_error>

namespace sw {

Result<std::string> read_text_file(const std::string& path) { return read_whole_file(path, kMostTextBytes); }

Result<std::string> read_whole_file(const std::string& path, std::size_t most) {
    std::error_code problem;
    if (std::filesystem::is_directory(path, problem)) {
        return Error{Fault::file_missing, path, "", "is a folder, not a file", "name the file in it"};
    }
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    if (!file) {
        if (errno == EACCES) return Error{Fault::file_missing, path, "", "may not be read", "change its permissions"};
        return Error{Fault::file_missing, path, "", "there is no such file", "check the name and the folder"};
    }
    std::string text;
    char block[16384];
    while (file.read(block, sizeof block) || file.gcount() > 0) {
        text.append(block, static_cast<std::size_t>(file.gcount()));
        if (text.size() > most) {
            return Error{Fault::table_malformed, path, "",
                         "is larger than " + std::to_string(most >> 20U) + " MB, far too large for what it should hold",
                         "see that it is the right file"};
        }
    }
    if (file.bad()) return Error{Fault::file_missing, path, "", "could not be read to its end", "copy it to another disk and try again"};
    return text;
}

std::filesystem::path find_demo_folder() {
    std::error_code problem;
    const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", problem);
    if (problem) return {};
    for (const char* place : {"../../../assets/demo", "../share/swatchwright/demo"}) {
        std::filesystem::path folder = (program.parent_path() / place).lexically_normal();
        if (std::filesystem::exists(folder / "truth.json", problem)) return folder;
    }
    return {};
}

}  // namespace sw
