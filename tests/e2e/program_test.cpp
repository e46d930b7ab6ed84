// The built program, run through the shell: what it prints on which stream, its exit codes, from any folder, with any file name.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/schema.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using testing::HasSubstr;

struct Ran {
    int code = -1;  // 128 + signal if it was killed
    std::string out, err;
};

std::string quoted(const std::string& word) {
    std::string text = "'";
    for (const char c : word) text += c == '\'' ? "'\\''" : std::string(1, c);
    return text + "'";
}

std::string read(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

class Program : public testing::Test {
protected:
    void SetUp() override {
        folder_ =
            fs::temp_directory_path() / ("sw_e2e_" + std::to_string(getpid()) + "_" + testing::UnitTest::GetInstance()->current_test_info()->name());
        fs::create_directories(folder_);
        setenv("XDG_DATA_HOME", (folder_ / "data").c_str(), 1);
    }
    void TearDown() override { fs::remove_all(folder_); }

    /// A line of shell in which `$P` is the program, run in `from`.
    [[nodiscard]] Ran shell(const std::string& line, const fs::path& from = "/") const {
        const std::string command =
            "cd " + quoted(from.string()) + " && P=" + quoted(SW_PROGRAM) + "; { " + line + "; } 2>" + quoted((folder_ / "stderr").string());
        std::FILE* pipe = popen(command.c_str(), "r");
        Ran ran;
        if (pipe == nullptr) return ran;
        char block[4096];
        for (std::size_t n; (n = fread(block, 1, sizeof block, pipe)) > 0;) ran.out.append(block, n);
        const int status = pclose(pipe);
        ran.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
        ran.err = read(folder_ / "stderr");
        return ran;
    }
    [[nodiscard]] Ran program(const std::vector<std::string>& words, const fs::path& from = "/") const {
        std::string line = "\"$P\"";
        for (const std::string& word : words) line += " " + quoted(word);
        return shell(line, from);
    }
    fs::path folder_;
};

std::string box(const Json& region) {
    const Json& r = region.at("rect");
    return r[0].dump() + "," + r[1].dump() + "," + r[2].dump() + "," + r[3].dump();
}

// One of tests/photos with its true regions (truth.json).
struct Case {
    fs::path folder;
    Json truth;
    explicit Case(const std::string& name) : folder(fs::path(SW_TESTS) / "photos" / name), truth(Json::parse(read(folder / "truth.json"))) {}
    [[nodiscard]] const Json& photo(std::size_t i = 0) const { return truth.at("photos").at(i); }
    [[nodiscard]] std::string file(std::size_t i = 0) const { return (folder / photo(i).at("file").get<std::string>()).string(); }
    [[nodiscard]] std::string region(const char* name, std::size_t i = 0) const { return box(photo(i).at("regions").at(name)); }
    [[nodiscard]] std::string card(std::size_t i = 0) const {
        return region("card", i) + "=" + photo(i).at("regions").at("card").at("lrv_d50_2").dump();
    }
    [[nodiscard]] std::string chart() const {
        std::string text;
        for (const Json& value : photo().at("chart").at("corners_of_outer_patches")) text += (text.empty() ? "" : ",") + value.dump();
        return text;
    }
    [[nodiscard]] std::string pair(std::size_t i) const {
        return file(i) + ":chip=" + region("chip", i) + ":swatch=" + region("swatch", i) + ":gray=" + card(i) +
               ":lit-by=" + photo(i).at("light").get<std::string>();
    }
};

TEST_F(Program, MeasuresWithCardAndWithChart) {
    for (const char* name : {"case-02", "case-08", "case-35"}) {
        const Case bench(name);
        const Ran card = program({"measure", bench.file(), "--gray", bench.card(), "--region", "chip=" + bench.region("chip"), "--region",
                                  "swatch=" + bench.region("swatch"), "--json"});
        EXPECT_EQ(card.code, 0) << card.err;
        EXPECT_EQ(card.err, "");
        EXPECT_EQ(test::misfits(card.out, "measure.json"), "");
        const Ran chart = program({"measure", bench.file(), "--chart", bench.chart(), "--region", "chip=" + bench.region("chip"), "--json"});
        EXPECT_EQ(chart.code, 0) << chart.err;
        EXPECT_EQ(test::misfits(chart.out, "measure.json"), "");
        EXPECT_TRUE(Json::parse(chart.out)["calibration"]["loo"]["p95"].is_number());
    }
}

TEST_F(Program, ComparesAndAnswersNoWhenAsked) {
    const Case bench("case-35");  // truth.json: chip and swatch 9.4 apart under the bench light
    const std::vector<std::string> words{"compare",  bench.file(),           "--gray",   bench.card(), "--chip", bench.region("chip"),
                                         "--swatch", bench.region("swatch"), "--lit-by", "LED-B3"};
    const auto with = [&](std::vector<std::string> more) {
        more.insert(more.begin(), words.begin(), words.end());
        return program(more);
    };
    const Ran json = with({"--json", "--check", "--tolerance", "2"});
    EXPECT_EQ(json.code, 1);
    EXPECT_EQ(json.err, "");
    EXPECT_EQ(test::misfits(json.out, "compare.json"), "");
    EXPECT_EQ(Json::parse(json.out)["difference"]["verdict"], "outside");
    EXPECT_EQ(with({"--check", "--tolerance", "40"}).code, 0);
    EXPECT_EQ(with({"--tolerance", "2"}).code, 0);
}

TEST_F(Program, SeesMetamerismInTwoPhotos) {
    const Case bench("case-42");
    const Ran ran = program({"compare", "--pair", bench.pair(0), "--pair", bench.pair(1), "--under", "A", "--json"});
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_EQ(test::misfits(ran.out, "compare.json"), "");
    std::vector<std::string> kinds;
    const Json answer = Json::parse(ran.out);
    for (const Json& light : answer["lights"]) kinds.push_back(light["kind"]);
    EXPECT_THAT(kinds, testing::UnorderedElementsAre("seen", "seen", "inferred"));
}

TEST_F(Program, TellsTheStreamsAndExitCodesApart) {
    const Case bench("case-02");
    const std::vector<std::pair<std::vector<std::string>, int>> failures{
        {{"nonsense"}, 2},
        {{"measure", bench.file(), "--gray", "1,1,9,9=0", "--json"}, 2},
        {{"measure", "none.jpg", "--json"}, 3},
        {{"measure", bench.file(), "--gray", bench.card(), "--region", "x=9999,1,20,20", "--json"}, 3},
        {{"target", "list", "--workbook", bench.file(), "--json"}, 4}};
    for (const auto& [words, code] : failures) {
        const Ran ran = program(words);
        EXPECT_EQ(ran.code, code) << ran.err;
        EXPECT_EQ(ran.out, "");
        EXPECT_THAT(ran.err, testing::StartsWith("swatchwright: "));
    }
    EXPECT_EQ(program({"--version"}).code, 0);
    EXPECT_EQ(program({"light", "D65", "--json"}).err, "");
}

TEST_F(Program, WorksFromAnyFolderWithAnyFileName) {
    const Case bench("case-02");
    const fs::path here = folder_ / "Kästen & Co = 50 % 'neu'";
    fs::create_directories(here);
    const std::string name = "my bench: photo=1 (ß, 写真).jpg";
    fs::copy_file(bench.file(), here / name);
    const Ran plain = program({"measure", name, "--gray", bench.card(), "--region", "chip=" + bench.region("chip"), "--json"}, here);
    EXPECT_EQ(plain.code, 0) << plain.err;
    EXPECT_EQ(Json::parse(plain.out)["file"], name);
    const Ran pair = program(
        {"compare", "--pair", name + ":chip=" + bench.region("chip") + ":swatch=" + bench.region("swatch") + ":gray=" + bench.card(), "--json"},
        here);
    EXPECT_EQ(pair.code, 0) << pair.err;
    EXPECT_EQ(program({"target", "add", "Größe 14", "--lab", "50,0,0", "--workbook", "mein buch.swb"}, here).code, 0);
    EXPECT_TRUE(fs::exists(here / "mein buch.swb"));
    EXPECT_EQ(Json::parse(program({"target", "show", "Größe 14", "--workbook", "mein buch.swb", "--json"}, here).out)["targets"][0]["name"],
              "Größe 14");
}

TEST_F(Program, KeepsTargetsBetweenRuns) {
    const Case bench("case-02");
    const Ran added =
        program({"target", "add", "Damson 14", "--from", bench.file(), "--region", bench.region("chip"), "--gray", bench.card(), "--json"});
    ASSERT_EQ(added.code, 0) << added.err;
    EXPECT_TRUE(fs::exists(folder_ / "data" / "swatchwright" / "workbook.swb"));
    EXPECT_EQ(program({"target", "list", "--json"}).out, added.out);
    EXPECT_EQ(program({"target", "remove", "Damson 14"}).code, 0);
    EXPECT_EQ(program({"target", "show", "Damson 14"}).code, 3);
}

TEST_F(Program, KeepsCardsAndSetUpsBetweenRuns) {
    const Case bench("case-02");
    ASSERT_EQ(program({"card", "add", "own gray", "--lrv", bench.photo().at("regions").at("card").at("lrv_d50_2").dump()}).code, 0);
    const std::string place = "own gray=" + bench.region("card");
    const Ran saved = program({"calibrate", bench.file(), "--card", place, "--save", "bench lamp", "--json"});
    ASSERT_EQ(saved.code, 0) << saved.err;
    EXPECT_EQ(test::misfits(saved.out, "calibrate.json"), "");
    const Ran later = program({"measure", bench.file(), "--setup", "bench lamp", "--region", "chip=" + bench.region("chip"), "--json"});
    ASSERT_EQ(later.code, 0) << later.err;
    EXPECT_EQ(test::misfits(later.out, "measure.json"), "");
    EXPECT_EQ(Json::parse(later.out)["calibration"]["method"], "set-up bench lamp: 1 own card");
    EXPECT_EQ(program({"measure", bench.file(), "--setup", "bench lamp", "--lit-by", "A"}).code, 3);
    EXPECT_EQ(program({"setup", "remove", "bench lamp"}).code, 0);
    EXPECT_EQ(program({"setup", "show", "bench lamp"}).code, 3);
}

TEST_F(Program, SurvivesAFullDiskAndAReaderThatLeft) {
    const Ran full = shell("\"$P\" light D65 >/dev/full");
    EXPECT_EQ(full.code, 5);
    EXPECT_THAT(full.err, HasSubstr("standard output: could not be written"));
    EXPECT_EQ(shell("\"$P\" light D65 >&-").code, 5);
    // the pipe has no reader: false ends at once; the program's own exit code goes to a file
    const std::string code = (folder_ / "code").string();
    const Ran left = shell("{ sleep 0.3; \"$P\" light D65; echo $? >" + quoted(code) + "; } | true");
    EXPECT_EQ(read(code), "5\n");
    EXPECT_EQ(left.err, "") << "nobody wants to hear about it after `| head`";
}

TEST_F(Program, DoesTheDemo) {
    const std::string demo = SW_ASSETS "/demo";
    if (!fs::exists(demo + "/truth.json")) GTEST_SKIP() << "no demo photos";
    const Ran words = program({"demo", "--folder", demo});
    EXPECT_EQ(words.code, 0) << words.err;
    EXPECT_EQ(words.err, "");
    EXPECT_THAT(words.out, HasSubstr("Damson 14"));
    EXPECT_EQ(test::misfits(program({"demo", "--folder", demo, "--json"}).out, "demo.json"), "");
}

// Same input, same answer: nothing depends on a clock, an address or a random seed.
TEST_F(Program, AnswersTheSameTwice) {
    const Case bench("case-09");
    const std::vector<std::string> words{"compare",  bench.file(),           "--gray", bench.card(), "--chip", bench.region("chip"),
                                         "--swatch", bench.region("swatch"), "--json"};
    const Ran once = program(words);
    EXPECT_EQ(once.code, 0) << once.err;
    EXPECT_EQ(once.out, program(words).out);
}

// Names with blanks, from another folder; nothing but the plot is left there.
TEST_F(Program, PlotsLandWhereTheyAreNamed) {
    const fs::path desk = folder_ / "my desk";
    fs::create_directories(desk);
    const Ran light = shell("$P light led:6500,ra=80 --plot 'bench lamp.png' --json", desk);
    EXPECT_EQ(light.code, 0) << light.err;
    EXPECT_EQ(test::misfits(light.out, "light.json"), "");
    EXPECT_EQ(read(desk / "bench lamp.png").substr(1, 3), "PNG");
    EXPECT_EQ(light.err, "") << "text on a page is nobody's message";
    const Ran color = shell("$P color '#8a7f61' --plot swatch.pdf", desk);
    EXPECT_EQ(color.code, 0) << color.err;
    EXPECT_EQ(read(desk / "swatch.pdf").substr(0, 5), "%PDF-");
    EXPECT_EQ(std::distance(fs::directory_iterator(desk), fs::directory_iterator()), 2);
    EXPECT_EQ(shell("$P light D65 --plot none/lamp.png", desk).code, 3);
}

}  // namespace
}  // namespace sw
