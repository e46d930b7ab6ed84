// The plan of a build, read back by poppler's tools. How it looks was judged by eye.
#include "sheet/build_plan.hpp"

#include <gmock/gmock.h>

#include "sheet/file.hpp"
#include "sheet/read_back.hpp"

namespace sw {
namespace {

using testing::ContainsRegex;
using testing::HasSubstr;
using testing::Not;

class BuildPlan : public test::ReadBackTest {
protected:
    Sheet saved(const std::vector<Part>& parts, const std::vector<std::int64_t>& of, const std::string& name) const {
        const auto plan = build_plan(parts, {damson()}, of, "Build plan of car no. 2", kA4, path(name));
        EXPECT_TRUE(plan) << describe(plan.error());
        for (const DrawnFile& file : plan->files) EXPECT_TRUE(write_file(file.name, file.bytes));
        return *plan;
    }
    static Target damson() {
        Target target;
        target.id = 7;
        target.name = "Damson 14";
        target.lab = {32.5, 20.8, -12.7};
        target.lab_covariance = 0.25 * Eigen::Matrix3d::Identity();
        target.created = "2031-05-06T07:08:09.100Z";
        return target;
    }
    static Part part(std::int64_t id, const std::string& name, std::optional<std::int64_t> parent, PartStatus status = PartStatus::missing) {
        Part made;
        made.id = id;
        made.name = name;
        made.parent = parent;
        made.status = status;
        return made;
    }
    static std::vector<Part> build() {
        std::vector<Part> parts{part(1, "Car no. 2", std::nullopt), part(2, "underframe", 1), part(3, "brake wheel", 2, PartStatus::painted),
                                part(4, "body side", 1, PartStatus::mixing), part(5, "Station", std::nullopt)};
        parts[3].target = 7;
        parts[3].note = "two coats over gray";
        return parts;
    }
};

TEST_F(BuildPlan, NamesEveryPartItsColorAndHowFarItIs) {
    saved(build(), {}, "plan.pdf");
    const std::string text = words("plan.pdf");
    EXPECT_THAT(text, HasSubstr("3 parts: 1 reference missing, 1 being mixed, 1 painted"));  // the two projects are nothing to paint
    for (const char* name : {"Car no. 2", "underframe", "brake wheel", "body side", "Station", "two coats over gray", "Damson 14"})
        EXPECT_THAT(text, HasSubstr(name));
    EXPECT_THAT(text, ContainsRegex("L\\* 32.5 ± 0.5"));
    EXPECT_THAT(text, HasSubstr("Spray only with"));
    EXPECT_LT(text.find("body side"), text.find("underframe"));  // by name, each followed by what is in it
    EXPECT_LT(text.find("underframe"), text.find("brake wheel"));
    EXPECT_LT(text.find("brake wheel"), text.find("Station"));
}

TEST_F(BuildPlan, OnePartBringsWhatIsInIt) {
    EXPECT_EQ(saved(build(), {2}, "under.pdf").rows, 2U);
    const std::string text = words("under.pdf");
    EXPECT_THAT(text, HasSubstr("brake wheel"));
    EXPECT_THAT(text, Not(HasSubstr("body side")));
}

TEST_F(BuildPlan, ManyPartsTakeSeveralPagesAndLoseNone) {
    std::vector<Part> parts{part(1, "Car no. 2", std::nullopt)};
    for (int i = 0; i < 200; ++i) {
        parts.push_back(part(10 + i, "panel " + std::to_string(1000 + i), 1, PartStatus::target));
        if (i % 2 == 0) parts.back().target = 7;
        if (i % 7 == 0) parts.back().name += std::string(150, 'x');
    }
    const Sheet plan = saved(parts, {}, "many.pdf");
    EXPECT_GT(plan.pages, 8U);
    EXPECT_THAT(said("pdfinfo " + path("many.pdf")), ContainsRegex("Pages: +" + std::to_string(plan.pages)));
    const std::string text = words("many.pdf", "-raw");
    for (int i = 0; i < 200; ++i) EXPECT_NE(text.find(std::to_string(1000 + i)), std::string::npos) << i;
    EXPECT_NE(text.find("page " + std::to_string(plan.pages) + " of " + std::to_string(plan.pages)), std::string::npos);
}

// As a damaged file may have them: two parts within each other, one within itself, one whose parent is gone.
TEST_F(BuildPlan, ARingOfPartsIsShownOnce) {
    const std::vector<Part> parts{part(1, "one", 2), part(2, "two", 1), part(3, "self", 3), part(4, "orphan", 99)};
    EXPECT_EQ(saved(parts, {}, "ring.pdf").rows, 4U);
    EXPECT_EQ(saved({}, {}, "none.pdf").pages, 1U);
}

}  // namespace
}  // namespace sw
