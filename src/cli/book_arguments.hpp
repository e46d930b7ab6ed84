// Reads the command lines of book_requests.hpp.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_part(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_reading(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_photo(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_lamp(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_note(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_find(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_workbook(const std::vector<std::string>& arguments);

}  // namespace sw::args
