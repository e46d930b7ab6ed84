// Reads the command lines of what goes out of a workbook or comes in: export, import, sheet, share.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_export(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_import(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_sheet(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_share(const std::vector<std::string>& arguments);

}  // namespace sw::args
