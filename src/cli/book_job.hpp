// What commands about a workbook's content share: opening it, and its names.
#pragma once

#include "cli/book_answers.hpp"

namespace sw {

/// The workbook, made where the action adds to it. Nothing: it was not named and is not there yet.
[[nodiscard]] Result<std::optional<Workbook>> book_of(const BookRequest& request);
[[nodiscard]] Error no_workbook(const BookRequest& request, const std::string& what);
[[nodiscard]] Result<BookNames> names_of(const Workbook& workbook);
/// By its content's hash, its path, or its file's name. Errors: name_unknown; bad_usage where several have it, which tells their hashes.
[[nodiscard]] Result<KeptPhoto> photo_named(const std::vector<KeptPhoto>& photos, const std::string& name);

}  // namespace sw
