#include "sheet/file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <fstream>
#include <system_error>

namespace sw {
namespace {

Error unwritable(const std::string& path, int problem) {
    Error error{Fault::file_unwritable, path, "", "cannot be written: " + std::generic_category().message(problem), "choose another folder or name"};
    if (problem == EACCES || problem == EPERM || problem == EROFS) {
        error.cause = "may not be written";
        error.remedy = "change the permissions, or choose another folder";
    } else if (problem == ENOSPC || problem == EDQUOT || problem == EFBIG) {
        error.cause = "does not fit: the disk is full or a limit is reached";
        error.remedy = "make room, or choose a folder on another disk";
    }
    return error;
}

// 0, or what errno says.
int write_all(int file, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t written = write(file, bytes.data(), bytes.size());
        if (written < 0) {
            if (errno == EINTR) continue;
            return errno;
        }
        bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    return fsync(file) == 0 || errno == EINVAL ? 0 : errno;  // EINVAL: a file system without it
}

}  // namespace

Result<Done> write_file(const std::string& path, std::string_view bytes) {
    namespace fs = std::filesystem;
    std::error_code problem;
    if (fs::is_directory(path, problem)) {
        return Error{Fault::file_unwritable, path, "", "is a folder", "add a file name"};
    }
    const fs::path folder = fs::path(path).parent_path();
    if (!folder.empty() && !fs::is_directory(folder, problem)) {
        return Error{Fault::file_missing, path, "", "there is no folder " + folder.string(), "make it first, or choose another"};
    }
    if (fs::exists(path, problem) && access(path.c_str(), W_OK) != 0) return unwritable(path, errno);

    std::string passing;
    int file = -1;
    for (int attempt = 0; file < 0 && attempt < 100; ++attempt) {
        passing = path + "." + std::to_string(getpid()) + "-" + std::to_string(attempt) + ".part";
        file = open(passing.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (file < 0 && errno != EEXIST) break;
    }
    if (file < 0) return unwritable(path, errno);
    int failed = write_all(file, bytes);
    if (close(file) != 0 && failed == 0) failed = errno;
    if (failed == 0 && rename(passing.c_str(), path.c_str()) != 0) failed = errno;
    if (failed == 0) return Done{};
    unlink(passing.c_str());
    return unwritable(path, failed);
}

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

}  // namespace sw
