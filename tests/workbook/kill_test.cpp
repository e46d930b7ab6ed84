// kill -9 in the middle of saving: what was reported saved is there, and nothing is half.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <map>
#include <random>
#include <sstream>
#include <thread>

#include "slow.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

// Starts workbook_saver, kills it `delay` after it began, and returns the whole lines it printed.
std::vector<std::string> save_until_killed(const std::filesystem::path& file, int first_number, std::chrono::microseconds delay,
                                           const char* what = nullptr) {
    int channel[2];
    if (::pipe2(channel, O_CLOEXEC) != 0) throw std::runtime_error("pipe");
    const pid_t child = ::fork();
    if (child == 0) {
        ::dup2(channel[1], STDOUT_FILENO);
        ::execl(SW_WORKBOOK_SAVER, SW_WORKBOOK_SAVER, file.c_str(), std::to_string(first_number).c_str(), what, static_cast<char*>(nullptr));
        ::_exit(127);
    }
    ::close(channel[1]);
    std::string text;
    char buffer[4096];
    ssize_t count = ::read(channel[0], buffer, sizeof buffer);  // "start": the time counts from here
    if (count > 0) text.append(buffer, static_cast<std::size_t>(count));
    std::this_thread::sleep_for(delay);
    ::kill(child, SIGKILL);
    while ((count = ::read(channel[0], buffer, sizeof buffer)) > 0) text.append(buffer, static_cast<std::size_t>(count));
    ::close(channel[0]);
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_TRUE(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL) << text;
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line) && !in.eof();) lines.push_back(line);  // the last, without its end, does not count
    return lines;
}

struct State {
    bool target = false, reading = false, removed = false, setup = false, part = false, lamp = false, undone = false;
};

void read_reports(const std::vector<std::string>& lines, std::map<int, State>& states) {
    ASSERT_FALSE(lines.empty());
    EXPECT_EQ(lines.front(), "start");
    for (std::size_t i = 1; i < lines.size(); ++i) {
        std::istringstream in(lines[i]);
        std::string word;
        int number = 0;
        ASSERT_TRUE(in >> word >> number) << lines[i];
        State& state = states[number];
        if (word == "target") state.target = true;
        if (word == "reading") state.reading = true;
        if (word == "removed") state.removed = true;
        if (word == "setup") state.setup = true;
        if (word == "part") state.part = true;
        if (word == "lamp") state.lamp = true;
        if (word == "undone") state.undone = true;
    }
}

// Everything reported must be there as it was saved; the one step in flight may be there, whole. Returns a number that is still free.
int check(const Workbook& workbook, const std::map<int, State>& states, int next) {
    std::map<std::string, Target> targets;
    std::map<std::string, KeptReading> readings;
    const Result<std::vector<Target>> all_targets = workbook.targets();
    const Result<std::vector<KeptReading>> all_readings = workbook.readings();
    const Result<std::vector<KeptSetup>> all_setups = workbook.setups();
    EXPECT_TRUE(all_targets && all_readings && all_setups);
    if (!all_targets || !all_readings || !all_setups) return next;
    const Result<std::vector<Part>> all_parts = workbook.parts();
    const Result<std::vector<KeptPhoto>> all_photos = workbook.photos();
    const Result<std::vector<Note>> all_notes = workbook.notes();
    const Result<std::vector<Lamp>> all_lamps = workbook.lamps();
    EXPECT_TRUE(all_parts && all_photos && all_notes && all_lamps && workbook.changes());
    if (!all_parts || !all_photos || !all_notes || !all_lamps) return next;
    std::map<std::string, Part> parts;
    std::map<std::string, KeptPhoto> photos;
    std::map<std::int64_t, Note> notes;  // by their part
    std::map<std::string, Lamp> lamps;
    for (const Part& part : *all_parts) parts[part.name] = part;
    for (const KeptPhoto& photo : *all_photos) photos[photo.hash] = photo;
    for (const Note& note : *all_notes) notes[*note.part] = note;
    for (const Lamp& lamp : *all_lamps) lamps[lamp.name] = lamp;
    EXPECT_TRUE(parts.size() == photos.size() && parts.size() == notes.size()) << "part, photo and note were saved as one";
    std::map<std::string, KeptSetup> setups;
    for (const KeptSetup& setup : *all_setups) setups[setup.name] = setup;
    for (const Target& target : *all_targets) targets[target.name] = target;
    for (const KeptReading& reading : *all_readings) readings[reading.name] = reading;
    EXPECT_EQ(readings.size(), all_readings->size());
    int last = next - 1;
    for (const auto& entry : states) last = std::max(last, entry.first);
    std::size_t targets_seen = 0, readings_seen = 0;
    int not_reported = 0;
    for (int number = 0; number <= last + 1; ++number) {
        const auto found = states.find(number);
        const State state = found == states.end() ? State() : found->second;
        const auto target = targets.find(sample_target(number).name);
        const auto reading = readings.find(sample_reading(number).name);
        const bool has_target = target != targets.end(), has_reading = reading != readings.end();
        if (has_target) {
            ++targets_seen;
            EXPECT_TRUE(same_content(target->second, sample_target(number)));
            EXPECT_FALSE(state.removed) << "target " << number << " was reported removed";
            if (!state.target) ++not_reported;
        } else if (state.target && !state.removed) {
            EXPECT_TRUE(has_reading && number % 4 == 3) << "target " << number << " was reported saved";  // else its removal was in flight
            ++not_reported;
        }
        if (has_reading) {
            ++readings_seen;
            EXPECT_TRUE(same_content(reading->second, sample_reading(number)));
            if (has_target) {
                EXPECT_EQ(reading->second.target, target->second.id);
            } else {
                EXPECT_FALSE(reading->second.target) << "a removal is whole: target and links";
            }
            if (!state.reading) ++not_reported;
        } else {
            EXPECT_FALSE(state.reading) << "reading " << number << " was reported saved";
        }
        if (const auto setup = setups.find(sample_setup(number).name); setup != setups.end()) {
            EXPECT_TRUE(same_content(setup->second, sample_setup(number)));
            if (!state.setup) ++not_reported;
        } else {
            EXPECT_FALSE(state.setup) << "set-up " << number << " was reported saved";
        }
        if (const auto part = parts.find(sample_part(number).name); part != parts.end()) {
            EXPECT_TRUE(same_content(part->second, sample_part(number)));
            EXPECT_TRUE(same_content(photos[sample_photo(number).hash], sample_photo(number)));
            EXPECT_TRUE(same_content(notes[part->second.id], sample_note(number, 0, part->second.id)));
            if (!state.part) ++not_reported;
        } else {
            EXPECT_FALSE(state.part) << "part " << number << " was reported saved";
        }
        if (const auto lamp = lamps.find(sample_lamp(number).name); lamp != lamps.end()) {
            EXPECT_TRUE(same_content(lamp->second, sample_lamp(number)));
            EXPECT_FALSE(state.undone) << "lamp " << number << " was reported taken back";
            if (!state.lamp) ++not_reported;
        } else if (state.lamp && !state.undone) {
            EXPECT_EQ(number % 3, 2) << "lamp " << number << " was reported saved";  // else its undoing was in flight
            ++not_reported;
        }
    }
    EXPECT_EQ(targets_seen, targets.size());
    EXPECT_EQ(readings_seen, readings.size());
    EXPECT_LE(not_reported, 1) << "one step only can be in flight";
    return last + 2;
}

void expect_sound(const std::filesystem::path& file) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file.c_str(), &database), SQLITE_OK);
    sqlite3_stmt* statement = nullptr;
    ASSERT_EQ(sqlite3_prepare_v2(database, "PRAGMA quick_check", -1, &statement, nullptr), SQLITE_OK);
    ASSERT_EQ(sqlite3_step(statement), SQLITE_ROW);
    EXPECT_STREQ(reinterpret_cast<const char*>(sqlite3_column_text(statement, 0)), "ok");
    sqlite3_finalize(statement);
    sqlite3_close(database);
}

const int kKills = test::long_form() ? 200 : test::kSlow ? 12 : 50;

// kKills of them, 0.5..60 ms after the start; returns how many saves were reported. Every second one on a new file, so that its making is hit too;
// the others go on with one file: what it holds after a kill counts as reported in the next round.
int many_kills(const Folder& folder) {
    std::mt19937 random(50);
    std::uniform_real_distribution<double> milliseconds(0.5, 60);
    int saves = 0, unborn = 0, journals = 0;
    int next = 0;
    std::map<int, State> grown;
    for (int round = 0; round < kKills; ++round) {
        const bool fresh = round % 2 == 0;
        const std::filesystem::path file = folder / (fresh ? "new " + std::to_string(round) + ".swb" : "grown.swb");
        const auto delay = std::chrono::microseconds(static_cast<int>(1000 * milliseconds(random)));
        const std::vector<std::string> lines = save_until_killed(file, fresh ? 0 : next, delay);
        saves += static_cast<int>(lines.size()) - 1;
        std::map<int, State> states = fresh ? std::map<int, State>() : grown;
        read_reports(lines, states);
        journals += std::filesystem::exists(file.string() + "-journal");
        if (!std::filesystem::exists(file) || std::filesystem::file_size(file) == 0) ++unborn;
        const Workbook workbook = opened(file, true);  // throws, and so fails, if it cannot be opened
        const int free_number = check(workbook, states, fresh ? 0 : next);
        expect_sound(file);
        if (testing::Test::HasFailure()) {
            ADD_FAILURE() << "round " << round << ", killed after " << delay.count() << " us";
            std::printf("%d kills, the last of them failed\n", round + 1);
            return saves;
        }
        if (!fresh) {
            next = free_number;
            grown.clear();
            const std::vector<Target> targets = *workbook.targets();
            const std::vector<KeptReading> readings = *workbook.readings();
            for (const Target& target : targets) grown[std::stoi(target.name.substr(7))].target = true;
            for (const KeptReading& reading : readings) {
                State& state = grown[std::stoi(reading.name.substr(12))];
                state.removed = !reading.target;
                state.target = state.reading = true;
            }
            const std::vector<KeptSetup> setups = *workbook.setups();
            for (const KeptSetup& setup : setups) grown[std::stoi(setup.name.substr(6))].setup = true;
            const std::vector<Part> parts = *workbook.parts();
            for (const Part& part : parts) grown[std::stoi(part.name.substr(12))].part = true;
            const std::vector<Lamp> lamps = *workbook.lamps();
            for (const Lamp& lamp : lamps) grown[std::stoi(lamp.name.substr(11))].lamp = true;
        }
    }
    std::printf("%d kills, %s: %d saves were reported and none was lost, %d hit the making of the file, %d left a journal to undo\n", kKills,
                failed_words(), saves, unborn, journals);
    return saves;
}

// A pot that is filled drop by drop, killed again and again: each drop that was reported is in it, once, in its order; at most one that was not.
TEST(Kill, WhileDropsAreAdded) {
    const Folder folder(quick_place());  // memory: many drops are done and must stay done
    std::mt19937 random(51);
    std::uniform_real_distribution<double> milliseconds(0.5, 60);
    const std::filesystem::path file = folder / "pot.swb";
    int next = 1, reported = 0;
    for (int round = 0; round < kKills / 2; ++round) {
        const auto delay = std::chrono::microseconds(static_cast<int>(1000 * milliseconds(random)));
        const std::vector<std::string> lines = save_until_killed(file, next, delay, "drops");
        for (std::size_t i = 1; i < lines.size(); ++i) ASSERT_EQ(lines[i], "drop " + std::to_string(next + static_cast<int>(i) - 1));
        const int last = next + static_cast<int>(lines.size()) - 2;  // reported
        reported += static_cast<int>(lines.size()) - 1;
        const Workbook workbook = opened(file, true);
        const auto additions = workbook.additions();
        ASSERT_TRUE(additions) << describe(additions.error());
        const auto there = static_cast<int>(additions->size());
        EXPECT_GE(there, last);
        EXPECT_LE(there, last + 1);
        for (int i = 0; i < there; ++i) {
            EXPECT_EQ((*additions)[static_cast<std::size_t>(i)].number, i + 1);
            EXPECT_EQ((*additions)[static_cast<std::size_t>(i)].amount, i + 1);
        }
        expect_sound(file);
        if (HasFailure()) return;
        next = there + 1;
    }
    std::printf("%d kills while drops were added: %d were reported and none was lost\n", kKills / 2, reported);
    EXPECT_GT(reported, 0);
}

TEST(Kill, ManyTimesOnTheDisk) {  // slow: most kills hit a save half done
    const Folder folder;
    many_kills(folder);
}

TEST(Kill, ManyTimesInMemory) {  // fast: many saves are done and must stay done
    if (::access("/dev/shm", W_OK) != 0) GTEST_SKIP() << "no /dev/shm here";
    const Folder folder("/dev/shm");
    EXPECT_GT(many_kills(folder), test::kSlow ? kKills : 2 * kKills) << "too slow to show anything";
}

}  // namespace
}  // namespace sw
