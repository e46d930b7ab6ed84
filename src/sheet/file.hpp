// A finished file, whole or not at all.
#pragma once

#include <string>
#include <string_view>

#include "color/result.hpp"

namespace sw {

/// Writes bytes to path, replacing what was there: first to a file of a passing name beside it, then renamed, so that nobody ever finds half of it
/// and a failure leaves what was there. Errors: file_missing (no such folder), file_unwritable (a folder of that name, no permission, no room).
[[nodiscard]] Result<Done> write_file(const std::string& path, std::string_view bytes);

}  // namespace sw
