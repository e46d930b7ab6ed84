// How long the search for recipes takes, beside working out every recipe in turn (whose time is that of some thousand, times how many there are).
// Only ratios inside one run count. Every answer is looked at: a wrong one ends the program with 1.
//   bench_mix [--smoke]
#include <algorithm>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <mutex>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include "color/difference.hpp"
#include "mix/made_up_shelf.hpp"
#include "mix/recipe.hpp"

namespace {

using namespace sw;  // NOLINT(google-build-using-namespace): a program of its own

double now_ms() { return 1e3 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }  // of this process: others run beside it

Lab color_under(const Shelf& shelf, const Recipe& mix, const RecipeLight& l) {
    return seen(mix_reflectance(shelf, mix), sight(l.light, Observer::degree2));
}

double choose(double n, int k) {
    double c = 1;
    for (int i = 0; i < k; ++i) c *= (n - i) / (i + 1);
    return c;
}

}  // namespace

int main(int argc, char** argv) {
    const bool smoke = argc > 1 && std::strcmp(argv[1], "--smoke") == 0;
    const Shelf shelf = made_up_shelf(40, 9);
    struct Row {
        int paints, drops, lights;
        double within, goal_ms;
    };
    bool right = true;
    std::printf("%-28s %9s %9s %9s %12s %14s\n", "of 40 paints", "median ms", "most ms", "goal ms", "x exhaustion", "proven in 15 s");
    for (const Row& row : {Row{3, 20, 1, 0, 150}, Row{3, 40, 1, 0, 150}, Row{3, 20, 3, 0, 400}, Row{4, 20, 1, 0.05, 3000}}) {
        Random r(7);
        std::vector<double> ms;
        double each = 0;
        int proven = 0;
        for (int t = 0; t < (smoke ? 1 : 12); ++t) {
            RecipeGoal goal;
            for (const char* name : {"D65", "A", "LED-B3"}) {
                if (static_cast<int>(goal.lights.size()) < row.lights) goal.lights.push_back({*light(name), Lab{}, goal.lights.empty() ? 1.0 : 0.5});
            }
            Recipe mix;
            for (int i = 0; i < 4; ++i) {
                const int paint = r.below(40), drops = 1 + r.below(1000);
                mix.push_back({paint, drops});
            }
            const double off = t % 2 == 0 ? 0 : 1.2, dl = r.uniform(-off, off), da = r.uniform(-off, off), db = r.uniform(-off, off);
            for (RecipeLight& l : goal.lights) {
                l.target = color_under(shelf, mix, l);
                l.target.L += dl;
                l.target.a += da;
                l.target.b += db;
            }
            goal.max_paints = row.paints;
            goal.drops = row.drops;
            goal.within = row.within;
            const double start = now_ms();
            std::stop_source stop;
            std::mutex mutex;
            std::condition_variable_any done;
            std::jthread timer([&](const std::stop_token& found) {
                std::unique_lock lock(mutex);
                if (!done.wait_for(lock, found, std::chrono::seconds(15), [] { return false; }) && !found.stop_requested()) stop.request_stop();
            });
            const Result<RecipeAnswer> answer = best_recipes(shelf, goal, stop.get_token());
            timer.request_stop();
            ms.push_back(now_ms() - start);
            if (!answer) return 1;
            proven += answer->proven ? 1 : 0;
            double cost = 0;
            for (const RecipeLight& l : goal.lights) cost += l.weight * difference_2000(l.target, color_under(shelf, answer->best[0].parts, l));
            right = right && std::abs(cost - answer->best[0].cost) < 1e-6;
            if (t > 0) continue;
            std::vector<Sight> sights;
            for (const RecipeLight& l : goal.lights) sights.push_back(sight(l.light, goal.observer));
            const double plain = now_ms();
            const int times = smoke ? 10 : 20000;
            double least = 1e9;
            for (int i = 0; i < times; ++i) {
                Recipe other = answer->best[0].parts;
                other[0].drops += i % 7;
                const ModelSpectrum reflectance = mix_reflectance(shelf, other);
                double sum = 0;
                for (std::size_t l = 0; l < sights.size(); ++l)
                    sum += goal.lights[l].weight * difference_2000(goal.lights[l].target, seen(reflectance, sights[l]));
                least = std::min(least, sum);
            }
            each = (now_ms() - plain) / times;
            right = right && (!answer->proven || least > answer->best[0].cost - row.within - 1e-9);
        }
        std::sort(ms.begin(), ms.end());
        const double recipes = choose(40, row.paints) * (choose(row.drops, row.paints) - choose(row.drops / 2, row.paints));
        const std::string name = std::to_string(row.paints) + ", " + std::to_string(row.drops) + " drops, " + std::to_string(row.lights) + " lights";
        std::printf("%-28s %9.1f %9.1f %9.0f %12.2e %6d of %d\n", name.c_str(), ms[ms.size() / 2], ms.back(), row.goal_ms,
                    ms[ms.size() / 2] / (each * recipes), proven, static_cast<int>(ms.size()));
    }
    return right ? 0 : 1;
}
