// Several files as one zip.
#pragma once

#include <ctime>
#include <string>
#include <vector>

#include "sheet/pen.hpp"

namespace sw {

/// A zip of them (deflate), each with this time. Nothing about who or where is in it. Error: internal.
[[nodiscard]] Result<std::string> zip_of(const std::vector<DrawnFile>& files, std::time_t time);

}  // namespace sw
