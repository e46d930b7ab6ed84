// Where the demo that comes with the program lies.
#pragma once

#include <filesystem>

namespace sw {

/// The demo's folder, looked for from where the program lies: in the source tree of a build, then where it is installed. Empty if there is none.
[[nodiscard]] std::filesystem::path find_demo_folder();

}  // namespace sw
