// Colors and spectra as CxF3, the Color Exchange Format of ISO 17972-1, namespace http://colorexchangeformat.com/CxF3-core. The standard's own schema
// is not free to have: element names are those of its published descriptions. What is read and written: DEVELOPERS.md.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "workbook/exchange.hpp"

namespace sw {

struct CxfText {
    std::string text;                // XML in UTF-8
    std::vector<NotTaken> left_out;  // lights that CxF has no name for, cards that are neither color nor spectrum
};
/// Targets as ColorCIELab; cards as ColorCIELab or ReflectanceSpectrum. What CxF has no place for (covariance, kind, source, exact white) goes into
/// tags, so that all comes back equal to the last digit. created: the file's time of making, ISO 8601.
[[nodiscard]] CxfText cxf_text(const Exchange&, const std::string& created);

/// How a file from outside is to be read.
struct CxfReading {
    std::string file;            // its name without folders, for messages and sources
    std::optional<double> sd{};  // of each of L*, a*, b* where the file has none
};
/// Reads objects with ColorCIELab, ColorCIELCh, ColorCIEXYZ, in this order, or a ReflectanceSpectrum, which becomes Lab under D50, 2 degrees;
/// untrusted: no entities, no document type, nothing fetched. Single objects that cannot be taken are in not_taken. Errors (table_malformed): not
/// well-formed XML in UTF-8, with the line; no CxF3; a document type; more than 100 000 objects.
[[nodiscard]] Result<Exchange> exchange_of_cxf(std::string_view text, const CxfReading&);

}  // namespace sw
