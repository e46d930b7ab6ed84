// The command `correct`: what it writes and says, what it refuses before anything is written.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/cli.hpp"
#include "cli/exit_code.hpp"
#include "cli/ran.hpp"
#include "cli/schema.hpp"
#include "folder_test.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using test::kBench;
using test::kCard;
using test::Words;
using testing::HasSubstr;
using testing::Not;

class Correct : public test::FolderTest {
protected:
    int run(const Words& words) {
        std::ostringstream out, err;
        const int code = run_command(words, out, err);
        out_ = out.str();
        err_ = err.str();
        return code;
    }
    void refused(const Words& words, int code, const std::string& say) {
        SCOPED_TRACE(testing::PrintToString(words));
        const auto before = files();
        EXPECT_EQ(run(words), code) << err_;
        EXPECT_EQ(out_, "");
        EXPECT_THAT(err_, HasSubstr(say));
        EXPECT_EQ(files(), before) << "something was written";
    }
    std::string out_, err_;
};

TEST_F(Correct, WritesPictureProfileAndReport) {
    const Words words{"correct", kBench,      "--chart",     "auto",     "--gray",      kCard,     "--out", path("a.jpg"),
                      "--strip", "--profile", path("a.icc"), "--report", path("a.pdf"), "--under", "A",     "--json"};
    ASSERT_EQ(run(words), 0) << err_;
    EXPECT_EQ(test::misfits(out_, "correct.json"), "");
    const Json json = Json::parse(out_);
    EXPECT_EQ(json["picture"]["file"], path("a.jpg"));
    EXPECT_EQ(json["picture"]["format"], "JPEG");
    EXPECT_EQ(json["picture"]["width"], 1200);
    EXPECT_GT(json["picture"]["height"], 900);
    EXPECT_EQ(json["picture"]["strip"], true);
    EXPECT_EQ(json["picture"]["light"], "A");
    EXPECT_EQ(json["profile"]["file"], path("a.icc"));
    EXPECT_EQ(json["report"]["file"], path("a.pdf"));
    EXPECT_EQ(json["calibration"]["method"], "24-patch chart");
    EXPECT_EQ(files(), (Words{"a.icc", "a.jpg", "a.pdf"}));
    for (const char* name : {"a.icc", "a.jpg", "a.pdf"}) EXPECT_GT(fs::file_size(path(name)), 4000U) << name;
}

TEST_F(Correct, SaysWhatWasWrittenAndWhatItIsWorth) {
    ASSERT_EQ(run({"correct", kBench, "--gray", kCard, "--out", path("a.png"), "--bits", "16"}), 0) << err_;
    EXPECT_THAT(out_, HasSubstr("PNG, 1200 x 900"));
    EXPECT_THAT(out_, HasSubstr("16 bits"));
    EXPECT_THAT(out_, HasSubstr("Calibration  "));
    EXPECT_THAT(out_, HasSubstr("all colors but grays: no colored reference"));
    EXPECT_EQ(files(), Words{"a.png"});
    ASSERT_EQ(run({"correct", kBench, "--gray", kCard, "--profile", path("b.icm")}), 0) << err_;
    EXPECT_THAT(out_, HasSubstr("input profile"));
    EXPECT_THAT(out_, Not(HasSubstr("corrected picture")));
}

// Bad usage is known from the words alone: the photo is not even opened.
TEST_F(Correct, RefusesBeforeAnythingIsWritten) {
    const std::string out = path("a.png");
    refused({"correct", "--out", out}, 2, "names no photo");
    refused({"correct", kBench}, 2, "names nothing to write");
    refused({"correct", kBench, "--strip", "--profile", path("a.icc")}, 2, "has no picture to write");
    refused({"correct", "none.jpg", "--out", path("a.gif")}, 2, "ends in none of .jpg, .png and .tif");
    refused({"correct", "none.jpg", "--out", path("a.jpg"), "--bits", "16"}, 2, "does not hold 16 bits");
    refused({"correct", "none.jpg", "--out", out, "--bits", "12"}, 2, "--bits \"12\"");
    refused({"correct", "none.jpg", "--out", out, "--out", path("b.png")}, 2, "--out: is given 2 times");
    refused({"correct", "none.jpg", "--profile", path("a.prf")}, 2, "ends neither in .icc nor in .icm");
    refused({"correct", "none.jpg", "--report", path("a.jpg")}, 2, "ends neither in .png nor in .pdf");
    refused({"correct", "none.jpg", "--out", out, "--report", folder_.string() + "/./a.png"}, 2, "is named twice");
    refused({"correct", "none.jpg", "--out", out, "--under", "moon"}, 2, "--under \"moon\"");
    refused({"correct", "none.jpg", "--out", out}, 3, "none.jpg");
    refused({"correct", kBench, "--gray", kCard, "--out", path("no folder/a.png")}, 3, "no folder");
    refused({"correct", kBench, "--gray", "5000,0,20,20", "--out", out}, 3, "gray card");
}

TEST_F(Correct, ThePhotoIsNeverWrittenOver) {
    fs::copy_file(kBench, path("photo.jpg"));
    fs::copy_file(kBench, path("photo.png"));  // wrong ending, read by its content
    const auto size = fs::file_size(path("photo.jpg"));
    refused({"correct", path("photo.jpg"), "--gray", kCard, "--out", path("photo.jpg")}, 2, "is the photo itself");
    refused({"correct", path("photo.png"), "--gray", kCard, "--report", path("photo.png")}, 2, "is the photo itself");
    EXPECT_EQ(fs::file_size(path("photo.jpg")), size);
    EXPECT_EQ(fs::file_size(path("photo.png")), size);
}

TEST_F(Correct, HasHelp) {
    ASSERT_EQ(run({"correct", "--help"}), 0);
    for (const char* option : {"--out", "--strip", "--bits", "--profile", "--report", "--gray", "--chart", "--known", "--under", "--json"})
        EXPECT_THAT(out_, HasSubstr(option));
    EXPECT_THAT(out_, HasSubstr("no place, no serial number"));
    ASSERT_EQ(run({"--help"}), 0);
    EXPECT_THAT(out_, HasSubstr("\n  correct "));
}

}  // namespace
}  // namespace sw
