#include "sheet/output_intent.hpp"

#include <charconv>
#include <cstdio>

namespace sw {
namespace {

/// The whole number behind a key, searched from `from` on.
std::optional<std::size_t> number_behind(const std::string& pdf, const std::string& key, std::size_t from) {
    const std::size_t at = pdf.find(key, from);
    if (at == std::string::npos) return std::nullopt;
    const char* start = pdf.data() + at + key.size();
    while (start < pdf.data() + pdf.size() && (*start == ' ' || *start == '\n' || *start == '\r')) ++start;
    std::size_t value = 0;
    if (std::from_chars(start, pdf.data() + pdf.size(), value).ec != std::errc{}) return std::nullopt;
    return value;
}

std::string entry(std::size_t number, std::size_t offset) {
    char line[64];
    std::snprintf(line, sizeof line, "%zu 1\n%010zu 00000 n \n", number, offset);
    return line;
}

}  // namespace

std::optional<std::string> with_output_intent(std::string pdf, const std::vector<std::uint8_t>& icc) {
    const std::size_t trailer = pdf.rfind("trailer");
    if (trailer == std::string::npos) return std::nullopt;
    const auto size = number_behind(pdf, "/Size", trailer), root = number_behind(pdf, "/Root", trailer), info = number_behind(pdf, "/Info", trailer),
               before = number_behind(pdf, "startxref", trailer);
    if (!size || !root || !info || !before) return std::nullopt;
    const std::string head = "\n" + std::to_string(*root) + " 0 obj\n";
    const std::size_t catalog = pdf.find(head);
    const std::size_t end = catalog == std::string::npos ? catalog : pdf.find(">>\nendobj", catalog);
    if (end == std::string::npos) return std::nullopt;
    const std::string kept = pdf.substr(catalog + 1, end - catalog - 1), profile = std::to_string(*size);

    if (pdf.back() != '\n') pdf += '\n';
    const std::size_t profile_at = pdf.size();
    pdf += profile + " 0 obj\n<< /N 3 /Length " + std::to_string(icc.size()) + " >>\nstream\n";
    pdf.append(icc.begin(), icc.end());
    pdf += "\nendstream\nendobj\n";
    const std::size_t catalog_at = pdf.size();
    pdf += kept +
           "   /OutputIntents [ << /Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (sRGB IEC61966-2.1) /Info (sRGB IEC61966-2.1)" +
           " /RegistryName (http://www.color.org) /DestOutputProfile " + profile + " 0 R >> ]\n>>\nendobj\n";
    const std::size_t references_at = pdf.size();
    pdf += "xref\n" + entry(*root, catalog_at) + entry(*size, profile_at) + "trailer\n<< /Size " + std::to_string(*size + 1) + " /Root " +
           std::to_string(*root) + " 0 R /Info " + std::to_string(*info) + " 0 R /Prev " + std::to_string(*before) + " >>\nstartxref\n" +
           std::to_string(references_at) + "\n%%EOF\n";
    return pdf;
}

}  // namespace sw
