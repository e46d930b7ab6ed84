// Pots from the first drop to the match, held to the true colors of their mixes: minutes under the sanitizers, so with the program as users get it.
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>

#include "cli/mix_fixture.hpp"
#include "color/difference.hpp"
#include "slow.hpp"

namespace sw {
namespace {

using test::done;
using test::flat;
using test::kWhite;
using test::lab_text;
using test::Mix;
using test::refused;
using test::told;
using test::true_color;
using test::Words;
using testing::HasSubstr;
using testing::StartsWith;

class MixLong : public Mix {};

// A whole pot: recipe, drops, reading, next addition, until it is within the tolerance in truth.
TEST_F(MixLong, APotFromTheFirstDropToTheMatch) {
    fill_shelf({"Quinacridone Violet", "Ultramarine", "Burnt Umber", "Yellow Oxide"});
    const Lab target = true_color({{kWhite, 12}, {"Quinacridone Violet", 5}, {"Ultramarine", 3}, {"Burnt Umber", 2}});
    done({"target", "add", "Damson 14", "--lab", lab_text(target), "--sd", "0.2"});
    const auto suggestion = told({"mix", "suggest", "Damson 14", "--drops", "20", "--tolerance", "1"}, "mix_suggest.json");
    const auto best = suggestion["recipes"][0];
    EXPECT_THAT(best["words"].dump(), HasSubstr("surest"));
    EXPECT_EQ(std::count_if(suggestion["recipes"].begin(), suggestion["recipes"].end(), [](const auto& one) { return one["proven_best"]; }), 1);
    EXPECT_EQ(best["lights"].size(), 2U);
    EXPECT_EQ(best["lights"][0]["light"], "D50");
    EXPECT_EQ(best["lights"][1]["kind"], "inferred");
    EXPECT_LE(best["ci95"][0].get<double>(), best["de00"].get<double>());
    EXPECT_GE(best["ci95"][1].get<double>(), best["de00"].get<double>());
    const test::Ran words = done({"mix", "suggest", "Damson 14"});
    EXPECT_THAT(words.out, StartsWith("For \"Damson 14\" begin with "));
    EXPECT_THAT(words.out, HasSubstr("under D50"));
    EXPECT_THAT(words.out, HasSubstr("LED-B3"));

    done({"mix", "start", "pot B", "--target", "Damson 14", "--tolerance", "1"});
    add_parts("pot B", best["parts"]);
    const auto off = [&] { return difference_2000(target, true_color(content("pot B"))); };
    std::vector<double> truth{off()};
    std::string step = "add";
    for (int round = 0; round < 4 && step == "add"; ++round) {
        const auto read = told({"mix", "read", "pot B", "--lab", lab_text(true_color(content("pot B"))), "--sd", "0.3"}, "mix_read.json");
        EXPECT_NEAR(read["reading"]["de00"].get<double>(), truth.back(), 0.6);  // a length read with noise: its median lies above
        const auto next = told({"mix", "next", "pot B"}, "mix_next.json");
        step = next["step"];
        if (step != "add") break;
        EXPECT_GT(next["drops_after"].get<double>(), next["drops_before"].get<double>());
        add_parts("pot B", next["additions"]);
        truth.push_back(off());
    }
    EXPECT_EQ(step, "leave");
    EXPECT_LT(truth.back(), 1.0);
    const auto log = told({"mix", "log", "pot B"}, "mix_log.json");
    EXPECT_EQ(log["pot"]["target"], "Damson 14");
    EXPECT_EQ(log["pot"]["last"]["verdict"], "within");
    EXPECT_THAT(done({"mix", "log", "pot B"}).out, HasSubstr("parts of 100"));
    EXPECT_THAT(done({"mix", "list"}).out, HasSubstr("pot B"));
    // It works again, in another size; and a new batch is matched to this one.
    const auto more = told({"mix", "scale", "pot B", "--ml", "15"}, "mix_scale.json");
    EXPECT_NEAR(more["ml"].get<double>(), 15, 0.2);
    demo::Recipe again;
    for (const auto& part : more["parts"]) again.emplace_back(part["paint"].get<std::string>(), part["drops"].get<double>());
    EXPECT_LT(difference_2000(true_color(content("pot B")), true_color(again)), 0.3);
    EXPECT_EQ(told({"mix", "suggest", "--batch-of", "pot B"}, "mix_suggest.json")["target"], "pot B");
    done({"mix", "start", "pot C", "--batch-of", "pot B"});
    done({"mix", "add", "pot C", kWhite, "10"});
    EXPECT_EQ(told({"mix", "read", "pot C", "--lab", "90,0,0", "--sd", "0.3"}, "mix_read.json")["reading"]["verdict"], "outside");
    EXPECT_EQ(told({"mix", "next", "pot C"}, "mix_next.json")["step"], "add");
    done({"target", "add", "pale", "--lab", "90,0,5", "--sd", "0.3"});
    done({"mix", "start", "pot D", "--target", "pale"});
    done({"mix", "add", "pot D", "Burnt Umber", "40"});
    EXPECT_EQ(told({"mix", "next", "pot D"}, "mix_next.json")["step"], "start anew") << "no white makes it pale in a pot of twice the size";
    done({"mix", "remove", "pot D"});
    // What was learned is told, and forgotten when asked.
    const auto learned = told({"paint", "learn"}, "paint_learn.json");
    EXPECT_EQ(learned["readings"].size(), truth.size() + 1);
    EXPECT_THAT(done({"paint", "learn"}).out, HasSubstr("stronger than first thought"));
    const auto forgot = told({"paint", "learn", "--forget", "pot B", "--forget", "pot C"}, "paint_learn.json");
    EXPECT_EQ(forgot["readings"].size(), 0U);
    EXPECT_EQ(forgot["forgotten"].size(), 2U);
    EXPECT_NEAR(forgot["paints"][1]["strength"].get<double>(), 1, 1e-9);
    EXPECT_EQ(told({"paint", "learn", "--recall", "pot B"}, "paint_learn.json")["readings"].size(), truth.size());
    EXPECT_EQ(told({"paint", "learn", "--reset"}, "paint_learn.json")["forgotten"].size(), 2U);
    EXPECT_THAT(flat(done({"workbook", "undo"}).out), HasSubstr("what pots teach"));
}

TEST_F(MixLong, NobodyCounted) {
    fill_shelf({"Quinacridone Violet", "Ultramarine", "Red Oxide", "Yellow Oxide", "Carbon Black"});
    done({"target", "add", "Heather 09", "--lab", "55,15,-12", "--sd", "0.3"});
    done({"mix", "start", "H", "--target", "Heather 09"});
    done({"mix", "add", "H", kWhite, "24"});
    done({"mix", "add", "H", "Quinacridone Violet", "4"});
    done({"mix", "read", "H", "--lab", lab_text(true_color({{kWhite, 24}, {"Quinacridone Violet", 4}})), "--sd", "0.3"});
    EXPECT_EQ(told({"mix", "add", "H", "--unknown", "--note", "it was late"}, "mix_add.json")["added"]["kind"], "unknown");
    refused({"mix", "next", "H"}, 2, "nobody counted");
    refused({"mix", "explain", "H"}, 2, "was not read since");
    refused({"mix", "scale", "H", "--ml", "5"}, 2, "mix explain");
    const Lab truth = true_color({{kWhite, 24}, {"Quinacridone Violet", 4}, {"Ultramarine", 5}});
    done({"mix", "read", "H", "--lab", lab_text(truth), "--sd", "0.3"});
    const auto explained = told({"mix", "explain", "H", "--one"}, "mix_explain.json");
    ASSERT_GE(explained["sets"].size(), 1U);
    EXPECT_EQ(explained["sets"][0]["parts"][0]["paint"], "Ultramarine");
    EXPECT_NEAR(explained["sets"][0]["parts"][0]["drops"].get<double>(), 5, 1.0);
    const test::Ran two = done({"mix", "explain", "H"});
    EXPECT_THAT(two.out, StartsWith("Into pot \"H\" went most likely "));
    refused({"mix", "explain", "H", "--take", "900"}, 2, "there are ");
    const auto kept = told({"mix", "explain", "H", "--one", "--take", "1"}, "mix_explain.json")["kept"];
    ASSERT_EQ(kept.size(), 1U);
    EXPECT_EQ(kept[0]["believed"], true);
    const auto log = told({"mix", "log", "H"}, "mix_log.json");
    EXPECT_EQ(log["pot"]["unknown"], false);
    EXPECT_THAT(done({"mix", "log", "H"}).out, HasSubstr("something that nobody counted (it was late)"));
    EXPECT_THAT(done({"mix", "log", "H"}).out, HasSubstr("believed: "));
    told({"mix", "next", "H"}, "mix_next.json");
    EXPECT_THAT(flat(done({"workbook", "undo"}).out), HasSubstr("Explained what went into pot \"H\""));
    EXPECT_EQ(told({"mix", "log", "H"}, "mix_log.json")["pot"]["unknown"], true);
}

}  // namespace
}  // namespace sw
