#include "sheet/demo_folder.hpp"

#include <system_error>

namespace sw {

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
