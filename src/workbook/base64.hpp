// Bytes as text: RFC 4648, section 4 (base64 with padding, no line ends).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace sw {

[[nodiscard]] std::string to_base64(std::string_view bytes);
/// Untrusted text. Nothing where it is not what to_base64 writes, padding and unused bits too (RFC 4648, 3.5), so that one text has one meaning.
[[nodiscard]] std::optional<std::string> from_base64(std::string_view text);

}  // namespace sw
