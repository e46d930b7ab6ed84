// What tests of commands share: a folder with the default workbook in it, and a command that must do its job, must tell it in JSON, or must refuse.
#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "cli/ran.hpp"
#include "cli/schema.hpp"
#include "folder_test.hpp"

namespace sw::test {

class CommandTest : public FolderTest {
protected:
    void SetUp() override {
        FolderTest::SetUp();
        setenv("XDG_DATA_HOME", folder_.c_str(), 1);
    }
};

inline Ran done(const Words& words) {
    Ran ran = run_words(words);
    EXPECT_EQ(ran.code, 0) << testing::PrintToString(words) << ran.err;
    return ran;
}

// The words without their line breaks.
inline std::string flat(const std::string& text) {
    std::string result;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n';
        if (!blank || (!result.empty() && result.back() != ' ')) result += blank ? ' ' : c;
    }
    return result;
}

/// With --json, held against its schema.
inline nlohmann::json told(Words words, const std::string& schema) {
    if (std::find(words.begin(), words.end(), "--json") == words.end()) words.emplace_back("--json");
    const Ran ran = done(words);
    EXPECT_EQ(misfits(ran.out, schema), "") << testing::PrintToString(words);
    return nlohmann::json::parse(ran.out, nullptr, false);
}

/// Nothing on standard output, one line on standard error.
inline void refused(const Words& words, int code, const std::string& say) {
    SCOPED_TRACE(testing::PrintToString(words));
    const Ran ran = run_words(words);
    EXPECT_EQ(ran.code, code) << ran.err;
    EXPECT_EQ(ran.out, "");
    EXPECT_THAT(ran.err, testing::StartsWith("swatchwright: "));
    EXPECT_THAT(ran.err, testing::HasSubstr(say));
    EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << ran.err;
}

}  // namespace sw::test
