// The schema as written (src/workbook/schema*.sql, step by step) is the schema as found in a workbook, and an outside program can read it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <cstdio>
#include <set>
#include <sstream>

#include "workbook/rows.hpp"
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
    for (const char* step : {"schema.sql", "schema_2.sql", "schema_3.sql", "schema_4.sql"}) {
        const std::string sql = bytes_of(std::filesystem::path(SW_SCHEMA) / step);
        ASSERT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    }
    const char* question = "SELECT type || ' ' || name || ' ' || ifnull(sql, '') FROM sqlite_schema ORDER BY name";
    const std::string written = ask(database, question);
    sqlite3_close(database);
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    EXPECT_EQ(ask(database, question), written);
    EXPECT_EQ(ask(database, "PRAGMA application_id"), "1398227563\n");
    EXPECT_EQ(ask(database, "PRAGMA user_version"), "4\n");
    EXPECT_EQ(ask(database, "PRAGMA journal_mode"), "delete\n");
    EXPECT_EQ(ask(database, "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite%' AND NOT strict"), "0\n");
    for (const store::Table* table : store::tables()) {  // the program's columns are those of the table, in its order
        std::string columns = "id\nchecksum\n";
        for (const std::string& column : table->columns) columns += column + "\n";
        EXPECT_EQ(ask(database, "SELECT name FROM pragma_table_info('" + table->name + "')"), columns);
    }
    for (const store::Link& link : store::links()) {
        EXPECT_EQ(ask(database, "SELECT \"table\" FROM pragma_foreign_key_list('" + link.table->name + "') WHERE \"from\" = '" +
                                    link.table->columns[link.column] + "'"),
                  link.to->name + "\n");
    }
    EXPECT_EQ(ask(database, "SELECT count(*) FROM sqlite_schema s, pragma_foreign_key_list(s.name)"), std::to_string(store::links().size()) + "\n");
    sqlite3_close(database);
    EXPECT_EQ(bytes_of(folder / "book.swb").substr(68, 4), "SWBk");  // where `file` and its like look
}

// Every table and column of a real file stands in DEVELOPERS.md, in its chapter's tables, and every table there is in the file.
TEST(Schema, IsTheOneOfTheChapter) {
    const std::string all = bytes_of(std::filesystem::path(SW_TESTS).parent_path() / "DEVELOPERS.md");
    const std::size_t start = all.find("## The workbook file");
    ASSERT_NE(start, std::string::npos);
    const std::string chapter = all.substr(start, all.find("\n## ", start + 1) - start);
    const Folder folder;
    { const Workbook made = opened(folder / "book.swb"); }
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "book.swb").c_str(), &database), SQLITE_OK);
    std::istringstream names(ask(database, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name"));
    int tables = 0;
    for (std::string table; std::getline(names, table); ++tables) {
        const std::size_t at = chapter.find("\n**" + table + "**");
        ASSERT_NE(at, std::string::npos) << "no paragraph about the table " << table;
        const std::string paragraph = chapter.substr(at, chapter.find("\n**", at + 1) - at);
        std::set<std::string> told;  // words between backquotes
        for (std::size_t open = paragraph.find('`'); open != std::string::npos;) {
            const std::size_t close = paragraph.find('`', open + 1);
            std::istringstream words(paragraph.substr(open + 1, close - open - 1));
            for (std::string word; words >> word;) told.insert(word);
            open = paragraph.find('`', close + 1);
        }
        std::istringstream columns(ask(database, "SELECT name FROM pragma_table_info('" + table + "')"));
        for (std::string column; std::getline(columns, column);) {
            const bool group = told.contains(column.substr(0, column.find('_') + 1) + "*");  // `lab_*`
            EXPECT_TRUE(told.contains(column) || group) << table << "." << column << " is not told of";
        }
    }
    std::istringstream indexes(ask(database, "SELECT name FROM sqlite_schema WHERE type = 'index' AND sql IS NOT NULL"));
    for (std::string index; std::getline(indexes, index);) EXPECT_THAT(chapter, testing::HasSubstr("`" + index + "`"));
    EXPECT_THAT(chapter, testing::HasSubstr("| `PRAGMA user_version` | " + ask(database, "PRAGMA user_version").substr(0, 1) + ","));
    sqlite3_close(database);
    EXPECT_EQ(tables, 15);
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
