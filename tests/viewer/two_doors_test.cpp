// The same pair judged in the window and by the command: equal words and figures. Ten pairs of tests/photos, boxes from their truth.json.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/cli.hpp"
#include "sheet/pair_words.hpp"
#include "viewer/derive.hpp"
#include "viewer/words.hpp"

namespace sw::window {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using testing::HasSubstr;

struct Case {
    std::string photo, card, chip, swatch, corners, light;
};
std::vector<Case> cases(std::size_t most) {
    std::vector<fs::path> folders;
    for (const auto& entry : fs::directory_iterator(fs::path(SW_TESTS) / "photos")) {
        if (entry.is_directory()) folders.push_back(entry.path());
    }
    std::sort(folders.begin(), folders.end());
    std::vector<Case> all;
    for (const fs::path& folder : folders) {
        std::ifstream in(folder / "truth.json");
        const json photo = json::parse(in)["photos"][0];
        fs::path file = folder / photo["file"].get<std::string>();
        if (!fs::exists(file)) file = fs::path(SW_BESIDE) / "photos" / folder.filename() / photo["file"].get<std::string>();
        if (!fs::exists(file) || all.size() == most) continue;
        const auto figures = [](const json& list) {
            std::string text;
            for (const json& v : list) text += (text.empty() ? "" : ",") + v.dump();
            return text;
        };
        const json& regions = photo["regions"];
        all.push_back({file.string(), figures(regions["card"]["rect"]), figures(regions["chip"]["rect"]), figures(regions["swatch"]["rect"]),
                       figures(photo["chart"]["corners_of_outer_patches"]), photo["light"]});
    }
    return all;
}

/// Words without line breaks and double blanks.
std::string flat(const std::string& text) {
    std::istringstream in(text);
    std::string result;
    for (std::string word; in >> word;) result += (result.empty() ? "" : " ") + word;
    return result;
}

TEST(TwoDoors, SayTheSameOfTenPairs) {
#ifdef SW_SLOW_BUILD
    const std::vector<Case> pairs = cases(2);
#else
    const std::vector<Case> pairs = cases(10);
    ASSERT_EQ(pairs.size(), 10U);
#endif
    std::size_t index = 0;
    for (const Case& c : pairs) {
        SCOPED_TRACE(c.photo);
        const bool chart = index % 2 == 0, named = index % 3 == 0, rough = index % 4 == 1;  // by card or chart, light named or not, textured
        ++index;
        Work work;
        work.photo = c.photo;
        if (named) work.lit_by = c.light;
        std::vector<std::string> command{"compare", c.photo, "--chip", c.chip, "--swatch", c.swatch};
        if (named) command.insert(command.end(), {"--lit-by", c.light});
        if (rough) {
            work.textured = true;
            work.tolerance = kAcceptable;
            command.insert(command.end(), {"--textured", "--tolerance", "acceptable"});
        }
        if (chart) {
            work.references.chart.mode = ChartMode::corners;
            std::istringstream in(c.corners);
            char comma = 0;
            for (Point& p : work.references.chart.corners) in >> p.x >> comma >> p.y >> comma;
            command.insert(command.end(), {"--chart", c.corners});
        } else {
            work.references.grays.push_back({*parse_region(c.card, "card"), 18});
            command.insert(command.end(), {"--gray", c.card});
        }
        work.chip = *parse_region(c.chip, "chip");
        work.swatch = *parse_region(c.swatch, "swatch");

        Results results;
        derive(
            work, results, {}, [](const std::string&, std::optional<float>) {}, [&](Update update) { put(results, std::move(update)); });
        ASSERT_TRUE(results.comparison);
        std::ostringstream out, err;
        ASSERT_EQ(run_command(command, out, err), 0) << err.str();
        const std::string said = flat(out.str());

        const VerdictWords words = verdict_words(results.comparison->difference);
        const Difference& d = results.comparison->difference;
        EXPECT_THAT(said, HasSubstr("The swatch is " + words.figure + " (" + words.range + ") from the chip: " + d.words + "."));
        EXPECT_THAT(words.verdict, HasSubstr(to_word(d.verdict)));
        const std::string tolerance = rough ? "your tolerance of 1.8." : "the usual tolerance of 2.";
        EXPECT_THAT(said, HasSubstr(d.verdict == Verdict::within    ? "Within " + tolerance
                                    : d.verdict == Verdict::outside ? "Outside " + tolerance
                                                                    : "Not resolved:"));
        EXPECT_THAT(said, HasSubstr(words.beside));
        EXPECT_EQ(words.beside.find("Textured: lightness counts half.") != std::string::npos, rough);
        EXPECT_EQ(words.direction, "Swatch: " + d.words);
        EXPECT_THAT(said, HasSubstr("What to do " + d.advice));
        for (const LightRung& rung : light_ladder(*results.comparison)) {  // what the window draws beside its halves
            if (!rung.flag) continue;
            const std::string figure = rung.figure.substr(0, rung.figure.find(' ')), range = rung.figure.substr(rung.figure.find('(') + 1);
            EXPECT_THAT(said,
                        HasSubstr(rung.light + " " + figure + " " + range.substr(0, range.size() - 1) + " " + rung.flag_words + " " + rung.known));
        }
        for (const auto& [name, value, sd] : {std::tuple{"ΔL*", d.dL, d.dL_sd}, std::tuple{"ΔC*", d.dC, d.dC_sd}, std::tuple{"ΔH*", d.dH, d.dH_sd}}) {
            const std::size_t at = words.steps.find(name);
            ASSERT_NE(at, std::string::npos);
            EXPECT_THAT(said, HasSubstr(flat(words.steps.substr(at, words.steps.find("  ", at) - at))));
        }
    }
}

}  // namespace
}  // namespace sw::window
