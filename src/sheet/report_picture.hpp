// What a calibration is worth, on one page: where in the picture it errs, which way, by how much, and what it says nothing about.
#pragma once

#include <string>

#include "calibrate/calibration.hpp"

namespace sw {

/// Draws the page: path ends in .png (1600 x 1131 pixels) or .pdf (A4 landscape), in any case of letters. Left the corrected photo, cut to the
/// references where they are a small part of it, each reference a circle that grows with its ΔE00; right the a*b* plane with an arrow from what each
/// reference is to what is read; below method, references, leave-one-out figures, warnings, and what is not covered.
/// Errors: bad_usage (another ending), and those of write_file. What is on disk is whole or as it was. Test: tests/sheet/report_picture_test.cpp
[[nodiscard]] Result<Done> save_report_picture(const Photo&, const Calibration&, const std::string& path);

/// bad_usage unless path ends in .png or .pdf: to be asked before long work.
[[nodiscard]] Result<Done> can_save_report_picture(const std::string& path);

}  // namespace sw
