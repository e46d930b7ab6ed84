// What of a workbook may be given to strangers.
#pragma once

#include <string>

#include "workbook/exchange.hpp"

namespace sw {

/// The same without what is private: folders are taken off every file name (also of lights that are files), what the program noted of a calibration
/// is left out, a card's spectrum is kept as bare figures without whatever else its file held. Set-ups are left out: they serve one camera on one
/// bench, of which they hold a coarse picture. Names, figures, dates, photos' content hashes and thumbnails stay. (Place, owner and serial numbers of
/// a photo never enter a workbook; a thumbnail that came from elsewhere loses what is no part of the picture.)
[[nodiscard]] Exchange fit_to_share(Exchange);

/// "/media/me/bench.jpg 1,2,3,4; b/c.png 5,6,7,8" -> "bench.jpg 1,2,3,4; c.png 5,6,7,8"; pieces end at any of `ends`.
[[nodiscard]] std::string without_folders(const std::string& text, const std::string& ends);

}  // namespace sw
