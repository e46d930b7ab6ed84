// The workbook's rows as the window holds them: read once, then kept in step with each change.
#pragma once

#include "viewer/state.hpp"

namespace sw::window {

/// Everything. Errors: of reading the workbook.
[[nodiscard]] Result<Shelf> load_shelf(const Workbook&);

/// Brings the rows of a change (Workbook::trace) up to what the workbook holds now; all of them where there are many. On an error the shelf stays.
[[nodiscard]] Result<Done> follow(Shelf&, const Workbook&, const Trace&);

[[nodiscard]] const Target* find_target(const Shelf&, const std::optional<std::int64_t>& id);
[[nodiscard]] const KeptReading* find_reading(const Shelf&, const std::optional<std::int64_t>& id);
[[nodiscard]] const KeptPhoto* find_photo(const Shelf&, const std::optional<std::int64_t>& id);
[[nodiscard]] const KeptPot* find_pot(const Shelf&, const std::optional<std::int64_t>& id);
[[nodiscard]] const Part* find_part(const Shelf&, const std::optional<std::int64_t>& id);

}  // namespace sw::window
