#include "workbook/base64.hpp"

#include <cstdint>

namespace sw {
namespace {

constexpr std::string_view kAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

}  // namespace

std::string to_base64(std::string_view bytes) {
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        std::uint32_t three = 0;
        for (std::size_t k = 0; k < 3; ++k) three = three << 8U | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0U);
        for (std::size_t k = 0; k < 4; ++k) text += i + k <= bytes.size() ? kAlphabet[three >> (18 - 6 * k) & 63U] : '=';
    }
    return text;
}

std::optional<std::string> from_base64(std::string_view text) {
    if (text.size() % 4 != 0) return std::nullopt;
    const std::size_t padding = text.ends_with("==") ? 2 : text.ends_with('=') ? 1 : 0;
    std::string bytes;
    bytes.reserve(text.size() / 4 * 3);
    for (std::size_t i = 0; i < text.size(); i += 4) {
        std::uint32_t three = 0;
        for (std::size_t k = i; k < i + 4; ++k) {
            const std::size_t value = k < text.size() - padding ? kAlphabet.find(text[k]) : 0;
            if (value == std::string_view::npos) return std::nullopt;
            three = three << 6U | static_cast<std::uint32_t>(value);
        }
        for (const unsigned shift : {16U, 8U, 0U}) bytes += static_cast<char>(three >> shift & 255U);
    }
    for (std::size_t k = 0; k < padding; ++k) {
        if (bytes.back() != '\0') return std::nullopt;  // bits that stand for nothing
        bytes.pop_back();
    }
    return bytes;
}

}  // namespace sw
