// Small text files, read with care.
#pragma once

#include <filesystem>
#include <string>

#include "color/result.hpp"

namespace sw {

inline constexpr std::size_t kMostTextBytes = 8U << 20U;  // a spectrum of one line a nanometer is about 10 kB

/// The whole file. Errors: file_missing (not there, no permission, a folder), table_malformed (larger than kMostTextBytes).
[[nodiscard]] Result<std::string> read_text_file(const std::string& path);

}  // namespace sw
