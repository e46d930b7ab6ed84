// What makes a database a workbook, and how one comes from version to version. Private to this folder.
#pragma once

#include "workbook/database.hpp"

namespace sw::store {

inline constexpr std::int64_t kApplicationId = 0x5357426B;  // "SWBk", as in schema.sql
inline constexpr std::int64_t kSchemaVersion = 4;

/// Read in one go.
struct Identity {
    std::int64_t application = 0, version = 0, objects = 0;
    [[nodiscard]] bool empty() const { return application == 0 && version == 0 && objects == 0; }
};
[[nodiscard]] Result<Identity> identity(const Database&);

/// Makes a workbook of this version in an empty database. Inside a transaction.
[[nodiscard]] Result<Done> make(const Database&);
/// The tables' definitions must be those of the schema's steps to the letter. Error: workbook_unreadable.
[[nodiscard]] Result<Done> check_definitions(const Database&, std::int64_t version);

/// From an older version to this one: all of it, or the file stays as it was. A copy named FILE.vN.backup is made before (a number follows where
/// another copy has that name). Error workbook_write also where there is no room for the copy.
[[nodiscard]] Result<Done> bring_up(const Database&, const std::filesystem::path& file, std::int64_t from);

}  // namespace sw::store
