// What reading and writing CxF share. Private to this folder.
#pragma once

#include <map>
#include <string>

namespace sw::cxf {

inline constexpr const char* kNamespace = "http://colorexchangeformat.com/CxF3-core";
inline constexpr const char* kTags = "Swatchwright";  // where our tags say they are from
inline constexpr const char* kSpectrumHead = "nm,reflectance\n";
using Tags = std::map<std::string, std::string>;

/// Whether CxF has a word for a light of this name.
[[nodiscard]] bool has_name(const std::string& light);

}  // namespace sw::cxf
