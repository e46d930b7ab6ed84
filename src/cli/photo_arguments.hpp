// Reads the command lines of what is asked of photos: measure, compare, rank, coat, map, calibrate, correct.
#pragma once

#include "cli/request.hpp"

namespace sw::args {

[[nodiscard]] Result<Request> parse_measure(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_compare(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_rank(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_coat(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_map(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_calibrate(const std::vector<std::string>& arguments);
[[nodiscard]] Result<Request> parse_correct(const std::vector<std::string>& arguments);

}  // namespace sw::args
