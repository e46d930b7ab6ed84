// What a workbook holds as JSON that comes back equal to the last digit. Its schema: DEVELOPERS.md.
#pragma once

#include <string>
#include <string_view>

#include "workbook/exchange.hpp"

namespace sw {

inline constexpr int kExchangeVersion = 1;

/// Valid UTF-8; what is none in a file name becomes U+FFFD.
[[nodiscard]] std::string exchange_json(const Exchange&);

/// Reads it; untrusted. Single things that cannot be taken are in not_taken, by their place ("targets 3").
/// file: its name, for messages. Errors (table_malformed): no JSON, nested deeper than 16, not this schema, a newer version of it, more than 200 000
/// things.
[[nodiscard]] Result<Exchange> exchange_of_json(std::string_view text, const std::string& file);

}  // namespace sw
