// The commands that others are shown, done as they stand there: the demo's three pots, and the mixing in the README's walk.
#include <fstream>
#include <sstream>

#include "cli/command_test.hpp"
#include "color/difference.hpp"
#include "demo/shelf.hpp"
#include "slow.hpp"

namespace sw {
namespace {

using test::done;
using test::flat;
using test::told;
using test::Words;
using testing::HasSubstr;

/// A line of a shell without its program: words between blanks, quotes of both kinds.
Words words_of(const std::string& line) {
    Words words;
    std::string word;
    bool inside = false;
    char quote = 0;
    for (const char c : line) {
        if (quote != 0) {
            if (c == quote)
                quote = 0;
            else
                word += c;
        } else if (c == '\'' || c == '"') {
            quote = c;
            inside = true;
        } else if (c != ' ') {
            word += c;
            inside = true;
        } else if (inside) {
            words.push_back(word);
            word.clear();
            inside = false;
        }
    }
    if (inside) words.push_back(word);
    return words;
}

/// Lines that call ./run, from the first that holds `from`; file names are made those of the repository.
std::vector<Words> commands_in(const std::filesystem::path& file, const std::string& from) {
    std::ifstream in(file);
    std::vector<Words> commands;
    bool begun = false;
    for (std::string line; std::getline(in, line);) {
        const std::size_t start = line.find_first_not_of(' ');
        if (start == std::string::npos || line.compare(start, 6, "./run ") != 0) continue;
        begun = begun || line.find(from) != std::string::npos;
        Words words = words_of(line.substr(start + 6));
        if (!begun || (words[0] != "import" && words[0] != "mix" && words[0] != "paint")) continue;
        for (std::string& word : words) {
            if (word.starts_with("assets/")) word = SW_ASSETS + word.substr(6);
        }
        commands.push_back(words);
    }
    return commands;
}

class MixWalk : public test::CommandTest {
protected:
    static Lab true_color(const std::string& pot) {
        demo::Recipe recipe;
        const auto log = told({"mix", "log", pot}, "mix_log.json");
        for (const auto& part : log["pot"]["in_it"]) recipe.emplace_back(part["paint"].get<std::string>(), part["ml"].get<double>());
        return demo::color_of(recipe);
    }
    /// Does them all; every reading must be what the mix looks like in truth, but for a careful reading's noise.
    static std::string walk(const std::vector<Words>& commands) {
        std::string said;
        for (const Words& words : commands) {
            said += done(words).out;
            if (words.size() < 5 || words[1] != "read") continue;
            const auto lab = told({"mix", "log", words[2]}, "mix_log.json")["pot"]["last"]["lab"];
            const Lab truth = true_color(words[2]);
            EXPECT_LT(difference_2000(truth, Lab{lab[0], lab[1], lab[2], truth.white}), 1.0) << words[2];
        }
        return flat(said);
    }
    static void expect_matched(const std::string& pot) {
        const auto last = told({"mix", "log", pot}, "mix_log.json")["pot"];
        EXPECT_EQ(last["last"]["verdict"], "within") << pot;
        const auto target = told({"target", "show", last["target"].get<std::string>()}, "target.json")["targets"][0]["lab"];
        const Lab truth = true_color(pot);
        EXPECT_LT(difference_2000(Lab{target[0], target[1], target[2], truth.white}, truth), last["tolerance"].get<double>()) << pot;
    }
};

TEST_F(MixWalk, TheDemosThreePotsFromTheFirstDropToTheEnd) {
    auto commands = commands_in(std::filesystem::path(SW_ASSETS) / "demo" / "pots.sh", "import");
    ASSERT_GT(commands.size(), 30U);
    if (test::kSlow) {  // the first pot alone
        const auto second =
            std::find_if(commands.begin(), commands.end(), [](const Words& words) { return words.size() > 2 && words[2] == "Straw 31"; });
        commands.erase(second, commands.end());
        walk(commands);
        expect_matched("body side");
        return;
    }
    const std::string said = walk(commands);
    for (const char* pot : {"body side", "lining", "benches"}) expect_matched(pot);
    EXPECT_THAT(said, HasSubstr("Learned from 6 readings of 3 pots"));
}

TEST_F(MixWalk, TheReadmes) {
    const auto commands = commands_in(std::filesystem::path(SW_ASSETS).parent_path() / "README.md", "import assets/demo/shelf.json");
    ASSERT_GT(commands.size(), 12U);
    const std::string said = walk(commands);
    expect_matched("body side");
    // What the README says that it says.
    EXPECT_THAT(said, HasSubstr("Add 4 drops Titanium White, 2 drops Burnt Umber and 4 drops Ultramarine: expect 0.7 "));
    EXPECT_THAT(said, HasSubstr("the batch grows from 34 drops to 44 drops."));
    EXPECT_THAT(said, HasSubstr("Leave it: within your tolerance already"));
}

}  // namespace
}  // namespace sw
