// What is left when the program ends by a fault: a short report without anything private, so that it can be sent to those who mend it.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

namespace sw::window {

/// From now on a fault (a bad access, an abort) writes the file before it ends the program: version, kind of fault, places in the program as offsets.
/// No paths, no names, nothing of the work. One file for the whole program; its folder is made.
void report_faults_into(const std::filesystem::path& file);

/// The report of an earlier start, which is put aside under another name so that it is told of once. Nothing where there is none.
[[nodiscard]] std::optional<std::filesystem::path> take_fault_report(const std::filesystem::path& file);

}  // namespace sw::window
