// A shelf of made-up paints whose true colors are known, for tests of the paint and mix commands.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/command_test.hpp"
#include "color/light.hpp"
#include "demo/paint.hpp"

namespace sw::test {

inline Lab true_color(const demo::Recipe& recipe) {
    const Light d50 = *light("D50");
    return lab(xyz(demo::painted(recipe), d50, Observer::degree2), xyz(d50, Observer::degree2));
}
inline std::string lab_text(const Lab& lab) { return std::to_string(lab.L) + "," + std::to_string(lab.a) + "," + std::to_string(lab.b); }

inline const std::string kWhite = "Titanium White";

class Mix : public CommandTest {
protected:
    /// Masstone and two tints, as a careful user reads them.
    static void add_paint(const std::string& name, const Words& more = {}) {
        Words words{"paint", "add", name, "--masstone", lab_text(true_color({{name, 1}})), "--sd", "0.3"};
        if (name != kWhite) {
            for (const double share : {0.1, 0.03}) {
                words.emplace_back("--tint");
                words.push_back(std::to_string(share) + "=" + lab_text(true_color({{name, share}, {kWhite, 1 - share}})));
            }
            words.insert(words.end(), {"--white", kWhite});
        }
        words.insert(words.end(), more.begin(), more.end());
        done(words);
    }
    static void fill_shelf(const std::vector<std::string>& names) {
        add_paint(kWhite, {"--is-white", "yes", "--density", "1.4"});
        for (const std::string& name : names) add_paint(name);
    }
    /// What is in the pot, by the program's own record.
    static demo::Recipe content(const std::string& pot) {
        demo::Recipe recipe;
        const auto log = told({"mix", "log", pot}, "mix_log.json");
        for (const auto& part : log["pot"]["in_it"]) recipe.emplace_back(part["paint"].get<std::string>(), part["ml"].get<double>());
        return recipe;
    }
    static void add_parts(const std::string& pot, const nlohmann::json& parts) {
        for (const auto& part : parts) done({"mix", "add", pot, part["paint"].get<std::string>(), std::to_string(part["drops"].get<int>())});
    }
};

}  // namespace sw::test
