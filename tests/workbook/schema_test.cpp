// The schema as written (src/workbook/schema*.sql, step by step) is the schema as found in a workbook, and an outside program can read it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <cstdio>

#include "workbook/samples.hpp"

namespace sw {
namespace {

std::string ask(sqlite3* database, const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    EXPECT_EQ(sqlite3_prepare_v2(database, sql.c_str(), -1, &statement, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    std::string answer;
    while (sqlite3_step(statement) == SQLITE_ROW) answer += std::string(reinterpret_cast<const char*>(sqlite3_column_text(statement, 0))) + "\n";
    sqlite3_finalize(statement);
    return answer;
}

TEST(Schema, IsAsWritten) {
    const Folder folder;
    { const Workbook made = opened(folder / "book.swb"); }
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(":memory:", &database), SQLITE_OK);
    for (const char* step : {"schema.sql", "schema_2.sql"}) {
        const std::string sql = bytes_of(std::filesystem::path(SW_SCHEMA) / step);
        ASSERT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    }
    const char* question = "SELECT type || ' ' || name || ' ' || ifnull(sql, '') FROM sqlite_schema ORDER BY name";
    const std::string written = ask(database, question);
    sqlite3_close(database);
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    EXPECT_EQ(ask(database, question), written);
    EXPECT_EQ(ask(database, "PRAGMA application_id"), "1398227563\n");
    EXPECT_EQ(ask(database, "PRAGMA user_version"), "2\n");
    EXPECT_EQ(ask(database, "PRAGMA journal_mode"), "delete\n");
    EXPECT_EQ(ask(database, "SELECT count(*) FROM pragma_table_list WHERE name IN ('target', 'reading', 'card', 'setup') AND strict"), "4\n");
    sqlite3_close(database);
    EXPECT_EQ(bytes_of(folder / "book.swb").substr(68, 4), "SWBk");  // where `file` and its like look
}

TEST(Schema, AnOutsideShellReadsIt) {
    if (std::system("sqlite3 --version >/dev/null 2>&1") != 0) GTEST_SKIP() << "the sqlite3 shell is not installed";
    const Folder folder;
    {
        Workbook workbook = opened(folder / "book.swb");
        ASSERT_TRUE(workbook.add(sample_target(7)));
    }
    const auto shell = [&](const std::string& sql) {
        FILE* pipe = ::popen(("sqlite3 '" + (folder / "book.swb").string() + "' \"" + sql + "\"").c_str(), "r");
        std::string answer;
        char buffer[4096];
        while (const std::size_t count = std::fread(buffer, 1, sizeof buffer, pipe)) answer.append(buffer, count);
        EXPECT_EQ(::pclose(pipe), 0);
        return answer;
    };
    const Target target = sample_target(7);
    EXPECT_EQ(shell("SELECT name, kind, light, observer, lab_l = 27.1, cov_ll > 0 FROM target"), target.name + "|screen|led:6500,ra=80|2|1|1\n");
    EXPECT_EQ(shell("PRAGMA integrity_check"), "ok\n");
    EXPECT_THAT(shell(".schema"), testing::HasSubstr("CREATE TABLE target ("));
    EXPECT_THAT(shell(".schema"), testing::HasSubstr("CREATE TABLE reading ("));
}

}  // namespace
}  // namespace sw
