// Files read whole and written whole, or not at all.
#pragma once

#include <string>
#include <string_view>

#include "color/result.hpp"

namespace sw {

/// Writes bytes to path, replacing what was there: first to a file of a passing name beside it, then renamed, so that nobody ever finds half of it
/// and a failure leaves what was there. Errors: file_missing (no such folder), file_unwritable (a folder of that name, no permission, no room).
[[nodiscard]] Result<Done> write_file(const std::string& path, std::string_view bytes);

/// All bytes of it. Errors: file_missing (not there, no permission, a folder), table_malformed (larger than `most` bytes).
[[nodiscard]] Result<std::string> read_whole_file(const std::string& path, std::size_t most);

}  // namespace sw
