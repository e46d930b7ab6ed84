#include "cli/files.hpp"

#include <system_error>

#include "sheet/file.hpp"

namespace sw {

Result<std::string> read_text_file(const std::string& path) { return read_whole_file(path, kMostTextBytes); }

}  // namespace sw
