// Bytes as text and back.
#include "workbook/base64.hpp"

#include <gtest/gtest.h>

namespace sw {
namespace {

// Source: RFC 4648, section 10, test vectors.
TEST(Base64, PublishedVectors) {
    const std::pair<const char*, const char*> vectors[] = {
        {"", ""}, {"f", "Zg=="}, {"fo", "Zm8="}, {"foo", "Zm9v"}, {"foob", "Zm9vYg=="}, {"fooba", "Zm9vYmE="}, {"foobar", "Zm9vYmFy"}};
    for (const auto& [bytes, text] : vectors) {
        EXPECT_EQ(to_base64(bytes), text);
        EXPECT_EQ(from_base64(text), bytes);
    }
}

TEST(Base64, EveryByteComesBack) {
    std::string bytes;
    for (int i = 0; i < 256 * 7; ++i) {
        bytes += static_cast<char>(i * 31);
        EXPECT_EQ(from_base64(to_base64(bytes)), bytes) << i;
    }
}

TEST(Base64, WhatIsNoneIsRefused) {
    for (const char* text : {"Z", "Zg", "Zg=", "====", "Zm=v", "Zh==", "Zm9=", "Zm9v Zm9v", "Zm9v\n", "Zm-_", "=Zg=", "Z==="})
        EXPECT_FALSE(from_base64(text)) << text;
}

}  // namespace
}  // namespace sw
