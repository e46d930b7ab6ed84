// What a workbook keeps, and what it refuses. Expected values are what was put in: a store has no other truth.
#include "workbook/workbook.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

TEST(Workbook, KeepsTargetsToTheLastBit) {
    const Folder folder;
    std::vector<Target> kept;
    {
        Workbook workbook = opened(folder / "new folder/inside/book.swb");  // folders are made
        for (int number = 0; number < 20; ++number) {
            const Result<Target> added = workbook.add(sample_target(number));
            ASSERT_TRUE(added) << describe(added.error());
            EXPECT_TRUE(same_content(*added, sample_target(number)));
            EXPECT_GT(added->id, 0);
            EXPECT_THAT(added->created, testing::MatchesRegex("....-..-..T..:..:..\\....Z"));
            kept.push_back(*added);
        }
    }
    const Workbook workbook = opened(folder / "new folder/inside/book.swb", false);
    EXPECT_FALSE(workbook.read_only());
    EXPECT_FALSE(workbook.newer());
    const Result<std::vector<Target>> targets = workbook.targets();
    ASSERT_TRUE(targets);
    EXPECT_EQ(targets->size(), kept.size());
    EXPECT_TRUE(std::is_sorted(targets->begin(), targets->end(), [](const Target& one, const Target& two) { return one.name < two.name; }));
    for (const Target& target : kept) {
        const Result<Target> found = workbook.target(target.name);
        ASSERT_TRUE(found) << describe(found.error());
        EXPECT_TRUE(same(*found, target)) << target.name;
    }
}

TEST(Workbook, KeepsReadingsNewestFirst) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    const Result<Target> target = workbook.add(sample_target(1));
    ASSERT_TRUE(target);
    std::vector<KeptReading> kept;
    for (int number = 0; number < 12; ++number) {
        KeptReading reading = sample_reading(number);
        if (number % 3 == 0) reading.target = target->id;
        const Result<KeptReading> added = workbook.add(reading);
        ASSERT_TRUE(added) << describe(added.error());
        EXPECT_TRUE(same_content(*added, reading));
        kept.push_back(*added);
    }
    const Workbook again = opened(folder / "book.swb", false);
    const Result<std::vector<KeptReading>> readings = again.readings();
    ASSERT_TRUE(readings);
    ASSERT_EQ(readings->size(), kept.size());
    for (std::size_t i = 0; i < kept.size(); ++i) EXPECT_TRUE(same((*readings)[i], kept[kept.size() - 1 - i])) << i;
}

TEST(Workbook, UndoAndRedoByPut) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    const Target first = *workbook.add(sample_target(1));
    KeptReading reading = sample_reading(2);
    reading.target = first.id;
    reading = *workbook.add(reading);

    ASSERT_TRUE(workbook.remove_target(first.id));
    EXPECT_FAULT(workbook.target(first.name), Fault::name_unknown);
    KeptReading unlinked = reading;
    unlinked.target.reset();
    EXPECT_TRUE(same(workbook.readings()->front(), unlinked));  // figures stay, link goes

    const Target second = *workbook.add(sample_target(2));
    EXPECT_NE(second.id, first.id) << "an id given out again would let undo overwrite another target";

    ASSERT_TRUE(workbook.put(first));  // undo of the removal: target, then its readings
    ASSERT_TRUE(workbook.put(reading));
    EXPECT_TRUE(same(*workbook.target(first.name), first));
    EXPECT_TRUE(same(workbook.readings()->front(), reading));

    Target renamed = first;
    renamed.name = "Straw 31";
    ASSERT_TRUE(workbook.put(renamed));  // replaces by id, and readings stay linked
    EXPECT_FAULT(workbook.target(first.name), Fault::name_unknown);
    EXPECT_EQ(workbook.targets()->size(), 2U);
    EXPECT_EQ(workbook.readings()->front().target, first.id);

    renamed.name = second.name;
    EXPECT_FAULT(workbook.put(renamed), Fault::name_taken);
    EXPECT_TRUE(workbook.target("Straw 31")) << "a refused change leaves all as it was";

    ASSERT_TRUE(workbook.remove_reading(reading.id));
    EXPECT_TRUE(workbook.readings()->empty());
    ASSERT_TRUE(workbook.put(reading));
    EXPECT_TRUE(same(workbook.readings()->front(), reading));
}

TEST(Workbook, RefusesWhatIsNotThere) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    EXPECT_FAULT(workbook.target("Heather 09"), Fault::name_unknown);
    EXPECT_FAULT(workbook.remove_target(7), Fault::name_unknown);
    EXPECT_FAULT(workbook.remove_reading(7), Fault::name_unknown);
    KeptReading reading = sample_reading(1);
    reading.target = 99;
    EXPECT_FAULT(workbook.add(reading), Fault::name_unknown);
    EXPECT_TRUE(workbook.readings()->empty());
    EXPECT_FAULT(workbook.put(sample_target(1)), Fault::bad_usage);  // id 0: never stored
}

TEST(Workbook, NamesAreUniqueTrimmedAndClean) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    const auto add_named = [&](const std::string& name) {
        Target target = sample_target(1);
        target.name = name;
        return workbook.add(target);
    };
    const Result<Target> added = add_named("  Damson 14\t");
    ASSERT_TRUE(added);
    EXPECT_EQ(added->name, "Damson 14");
    EXPECT_TRUE(workbook.target(" Damson 14 "));
    const Result<Target> taken = add_named("Damson 14 ");
    EXPECT_FAULT(taken, Fault::name_taken);
    EXPECT_THAT(describe(taken.error()), HasSubstr("Damson 14"));

    for (const std::string& good :
         {std::string(200, 'x'), std::string("D\xC3\xA4mmerung \xE2\x89\xA0 \xF0\x9F\x8E\xA8"), std::string("';DROP TABLE target;--")}) {
        EXPECT_TRUE(add_named(good)) << good;
        EXPECT_TRUE(workbook.target(good)) << good;
    }
    for (const std::string& bad :
         {std::string(), std::string("  \t "), std::string(201, 'x'), std::string("a\nb"), std::string("a\0b", 3), std::string("a\x7F"),
          std::string("a\xC2\x85"),                                            // a control character of two bytes
          std::string("a\xFF"), std::string("\xC3"), std::string("\xC0\xAF"),  // not UTF-8: stray, cut off, overlong
          std::string("\xED\xA0\x80"), std::string("\xF4\x90\x80\x80"), std::string("\xE0\x80\x80")}) {
        EXPECT_FAULT(add_named(bad), Fault::bad_usage);
    }
    EXPECT_EQ(workbook.targets()->size(), 4U);
}

TEST(Workbook, RefusesFiguresThatCannotBe) {
    const Folder folder;
    Workbook workbook = opened(folder / "book.swb");
    const double inf = std::numeric_limits<double>::infinity(), nan = std::nan("");
    const auto refused = [&](auto spoil) {
        Target target = sample_target(1);
        spoil(target);
        EXPECT_FAULT(workbook.add(target), Fault::bad_usage);
        KeptReading reading = sample_reading(1);
        reading.lab = target.lab;
        reading.lab_covariance = target.lab_covariance;
        EXPECT_FAULT(workbook.add(reading), Fault::bad_usage);
    };
    refused([&](Target& t) { t.lab.L = nan; });
    refused([&](Target& t) { t.lab.b = -inf; });
    refused([&](Target& t) { t.lab.white.Y = 0; });
    refused([&](Target& t) { t.lab.white.Z = inf; });
    refused([&](Target& t) { t.lab_covariance(1, 1) = nan; });
    refused([&](Target& t) { t.lab_covariance(0, 0) = -0.1; });
    refused([&](Target& t) { t.lab_covariance(0, 1) += 0.1; });                  // not symmetric
    refused([&](Target& t) { t.lab_covariance << 1, 2, 0, 2, 1, 0, 0, 0, 1; });  // correlation 2
    // Each pair of these has correlation -0.9, which three together cannot have: eigenvalue 1 - 2 * 0.9 < 0.
    refused([&](Target& t) { t.lab_covariance << 1, -0.9, -0.9, -0.9, 1, -0.9, -0.9, -0.9, 1; });

    const auto reading_refused = [&](auto spoil) {
        KeptReading reading = sample_reading(2);
        spoil(reading);
        EXPECT_FAULT(workbook.add(reading), Fault::bad_usage);
    };
    reading_refused([&](KeptReading& r) { r.de00 = nan; });
    reading_refused([&](KeptReading& r) { r.de00 = -1; });
    reading_refused([&](KeptReading& r) { r.ci_high = inf; });
    reading_refused([&](KeptReading& r) { r.ci_low = *r.ci_high + 1; });
    reading_refused([&](KeptReading& r) { r.calibration_json = "\xFF"; });
    reading_refused([&](KeptReading& r) { r.name = ""; });
    EXPECT_TRUE(workbook.targets()->empty());
    EXPECT_TRUE(workbook.readings()->empty());

    Target edge = sample_target(3);  // singular is allowed: a value that is exactly known, or known in one direction only
    edge.lab_covariance.setZero();
    EXPECT_TRUE(workbook.add(edge));
    edge.name = "one direction";
    edge.lab_covariance << 4, 2, 0, 2, 1, 0, 0, 0, 0;
    edge.lab.a = -0.0;
    const Result<Target> added = workbook.add(edge);
    ASSERT_TRUE(added) << describe(added.error());
    EXPECT_TRUE(same(*workbook.target("one direction"), *added));
}

TEST(Workbook, WordsOfTheKindsGoBothWays) {
    for (const TargetKind kind : {TargetKind::chip, TargetKind::published, TargetKind::instrument, TargetKind::screen})
        EXPECT_EQ(target_kind(to_word(kind)), kind);
    EXPECT_EQ(to_word(TargetKind::chip), "chip");
    EXPECT_FALSE(target_kind("paint"));
}

// Source: XDG Base Directory Specification 0.8: default $HOME/.local/share; relative paths are invalid and to be ignored.
TEST(DefaultWorkbookPath, FollowsXdg) {
    const char* variables[] = {"XDG_DATA_HOME", "HOME"};
    std::optional<std::string> before[2];
    for (int i = 0; i < 2; ++i) {
        if (const char* value = std::getenv(variables[i])) before[i] = value;
    }
    ::setenv("HOME", "/people/somebody", 1);
    ::setenv("XDG_DATA_HOME", "/data", 1);
    EXPECT_EQ(default_workbook_path(), "/data/swatchwright/workbook.swb");
    ::setenv("XDG_DATA_HOME", "relative/data", 1);
    EXPECT_EQ(default_workbook_path(), "/people/somebody/.local/share/swatchwright/workbook.swb");
    ::setenv("XDG_DATA_HOME", "", 1);
    EXPECT_EQ(default_workbook_path(), "/people/somebody/.local/share/swatchwright/workbook.swb");
    ::unsetenv("XDG_DATA_HOME");
    EXPECT_EQ(default_workbook_path(), "/people/somebody/.local/share/swatchwright/workbook.swb");
    ::unsetenv("HOME");
    const std::filesystem::path of_the_account = default_workbook_path();
    EXPECT_TRUE(of_the_account == "workbook.swb" ||
                (of_the_account.is_absolute() && of_the_account.string().ends_with("/.local/share/swatchwright/workbook.swb")))
        << of_the_account;
    for (int i = 0; i < 2; ++i) before[i] ? ::setenv(variables[i], before[i]->c_str(), 1) : ::unsetenv(variables[i]);
}

TEST(Mapping, TheLastOfTheSameHeadingsIsKept) {
    const Folder folder(quick_place());
    ColumnMapping probe;
    probe.headings = "Probe; L* (D65); a=b";
    probe.columns = {{"Probe", "name"}, {"#2", "l"}, {"a=b", "none"}};
    probe.light = "D65";
    probe.observer = Observer::degree10;
    {
        Workbook workbook = opened(folder / "w.swb");
        ASSERT_TRUE(workbook.remember(probe));
        probe.columns[2].second = "a";
        ASSERT_TRUE(workbook.remember(probe));
        ColumnMapping other = probe;
        other.headings = "x";
        ASSERT_TRUE(workbook.remember(other));
        other.columns = {{"two\nlines", "name"}};
        EXPECT_FAULT(workbook.remember(other), Fault::bad_usage);
        other.columns.clear();
        EXPECT_FAULT(workbook.remember(other), Fault::bad_usage);
    }
    const Workbook workbook = opened(folder / "w.swb", false);
    const auto kept = workbook.mappings();
    ASSERT_TRUE(kept);
    ASSERT_EQ(kept->size(), 2U);
    const ColumnMapping& found = (*kept)[0].headings == probe.headings ? (*kept)[0] : (*kept)[1];
    EXPECT_EQ(found.columns, probe.columns);
    EXPECT_EQ(found.light, "D65");
    EXPECT_EQ(found.observer, Observer::degree10);
}

}  // namespace
}  // namespace sw
