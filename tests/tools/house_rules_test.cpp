// The checker is itself checked: every rule on a planted violation, and on the lawful neighbor that must pass.
#include "tools/house_rules.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace house {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

struct Planted {
    const char* path;
    const char* text;
    const char* complaint;
};

class Violation : public testing::TestWithParam<Planted> {};
TEST_P(Violation, IsFoundOnce) {
    const auto complaints = layer_complaints(GetParam().path, GetParam().text);
    EXPECT_THAT(complaints, SizeIs(1));
    EXPECT_THAT(complaints, Contains(HasSubstr(GetParam().complaint)));
}
INSTANTIATE_TEST_SUITE_P(Layers, Violation,
                         testing::Values(Planted{"calibrate/chart.cpp", "#include <vector>\n#include \"match/compare.hpp\"\n",
                                                 "calibrate/chart.cpp:2 includes match/compare.hpp: match does not stand left"},
                                         Planted{"color/color.cpp", "#include \"spectral/bands.hpp\"\n", "spectral does not stand left of color"},
                                         Planted{"cli/cli.cpp", "#include \"viewer/viewer.hpp\"\n", "viewer does not stand left of cli"},
                                         Planted{"viewer/viewer.cpp", "#include \"cli/cli.hpp\"\n", "cli does not stand left of viewer"},
                                         Planted{"photo/photo.cpp", "  #  include \"../calibrate/calibration.hpp\"\n", "from src/ on"},
                                         Planted{"cli/cli.cpp", "#include <imgui.h>\n", "belong to viewer/ alone"},
                                         Planted{"match/draw.cpp", "#include <GLFW/glfw3.h>\n", "belong to viewer/ alone"},
                                         Planted{"match/draw.cpp", "#include <GL/gl.h>\n", "belong to viewer/ alone"},
                                         Planted{"match/compare.cpp", "#include <iostream>\n", "<iostream>"},
                                         Planted{"match/compare.cpp", "void f() { std::cerr << 1; }\n", "match/compare.cpp:1 prints"},
                                         Planted{"match/compare.cpp", "void f() { printf(\"%d\", 1); }\n", "prints"},
                                         Planted{"match/compare.cpp", "void f() {\n    std::fputs(\"a\", stderr);\n}\n",
                                                 "match/compare.cpp:2 prints"},
                                         Planted{"photo/photo.hpp", "#include <OpenImageIO/imageio.h>\n", "other libraries stay in .cpp"},
                                         Planted{"workbook/workbook.hpp", "#include <sqlite3.h>\n", "other libraries stay in .cpp"},
                                         Planted{"color/color.hpp", "#include <Eigen/Core>\n", "plain C++"},
                                         Planted{"varnish/varnish.cpp", "", "has no place in the order"}));
INSTANTIATE_TEST_SUITE_P(
    Globals, Violation,
    testing::Values(Planted{"color/a.cpp", "namespace sw {\n\nint counter = 0;\n}\n", "color/a.cpp:3 holds a variable"},
                    Planted{"color/a.cpp", "namespace sw {\nnamespace {\nstd::vector<double> cache;\n}\n}\n", "color/a.cpp:3"},
                    Planted{"color/a.cpp", "static std::map<std::string, int> table{{\"a\", 1}};\n", "table"},
                    Planted{"color/a.cpp", "std::array<double, 3> weights = {1, 2, 3};\n", "weights"},
                    Planted{"color/a.cpp", "double grid[3];\n", "grid"}, Planted{"color/a.cpp", "const char* name = \"x\";\n", "name"},
                    Planted{"color/a.cpp", "inline thread_local int depth = 0;\n", "depth"},
                    Planted{"color/a.cpp", "constinit int depth = 0;\n", "depth"},
                    Planted{"color/a.cpp", "int f() {\n    static int calls = 0;\n    return ++calls;\n}\n", "color/a.cpp:2 holds a local static"},
                    Planted{"color/a.cpp", "int f() {\n    if (true) { static std::vector<int> v{1}; }\n    return 0;\n}\n", "local static"},
                    Planted{"color/a.hpp", "struct A {\n    static inline int made = 0;\n};\n", "color/a.hpp:2 holds a static member"},
                    Planted{"color/a.cpp", "int f(int a = 1) { return a; }\nint later = 2;\n", "color/a.cpp:2 holds a variable"},
                    Planted{"color/a.cpp", "int f(Options o = {}, int b = 2);\nint later{2};\n", "color/a.cpp:2 holds a variable"},
                    Planted{"color/a.cpp", "std::map<const int, int> later;\n", "later"},
                    Planted{"color/a.cpp", "bool operator==(const A& a, const A& b) { return true; }\nint later = 2;\n", "color/a.cpp:2"}));

TEST(Layers, LeaveLawfulCodeAlone) {
    EXPECT_THAT(layer_complaints("match/compare.cpp", R"(// std::cout << "not code"; #include "viewer/viewer.hpp"
#include "match/compare.hpp"
#include <lcms2.h>
#include <Eigen/Dense>
#include "calibrate/calibration.hpp"
#include "color/color.hpp"
/* #include <iostream>
   int counter; */
namespace sw {
class Later;
enum class Kind { a, b };
struct Pair { int a = 0; double b{1}; static int made(); static constexpr int kSize = 3; };
using Table = std::vector<double>;
template <class T = int>
T twice(T a) { return a * 2; }
extern const int kDeclared;
namespace {
constexpr double kLimit = 1.5;
const std::array<const char*, 2> kNames = {"printf(", "std::cout"};
inline const char* const kName = "x{y";
static const std::vector<int> kSizes{1, 2};
const auto kSquare = [](double v) { double w = v; return w * v; };
int helper(int a, double b = 1'000.0);
[[nodiscard]] std::vector<double> values(const Pair& pair, Options options = {}, const std::vector<int>& sizes = {1, 2},
                                         const std::function<void(float)>& progress = {});
}  // namespace
int helper(int a, double b) {
    static const std::vector<int> table = {1, 2, 3};
    static constexpr int k = 3;
    int local = 1;
    std::snprintf(nullptr, 0, "%d", local);
    for (int i = 0; i < 3; ++i) { local += i; }
    return static_cast<int>(a + b) + local + '"';
}
#define LONG \
    int not_a_variable = 1;
Pair::Pair() : a(1), b{2} { a = 3; }
static_assert(sizeof(int) == 4);
}
)"),
                IsEmpty());
    EXPECT_THAT(layer_complaints("photo/statistics.hpp", "#include <Eigen/Core>\n#include <vector>\n#include \"photo/photo.hpp\"\n"), IsEmpty());
    EXPECT_THAT(
        layer_complaints("viewer/canvas.cpp", "#include <imgui.h>\n#include <GL/gl.h>\nstatic int frames = 0;\nvoid f() { std::cout << 1; }\n"),
        IsEmpty());
    EXPECT_THAT(layer_complaints("main.cpp",
                                 "#include <iostream>\n#include \"cli/cli.hpp\"\n#include \"viewer/viewer.hpp\"\nint main() { std::cout << 1; }\n"),
                IsEmpty());
    EXPECT_THAT(layer_complaints("color/a.cpp", "#include \"cie_tables.hpp\"\nvoid f() { paint.print(x); sprinter(3); }\n"), IsEmpty());
}

TEST(OwnHeader, ComesFirst) {
    EXPECT_THAT(own_header_complaints("color/light.cpp", "// Words.\n#include \"color/light.hpp\"\n\n#include <vector>\n"), IsEmpty());
    EXPECT_THAT(own_header_complaints("color/light.cpp", "#include <vector>\n#include \"color/light.hpp\"\n"),
                Contains("color/light.cpp does not include its own header first"));
    EXPECT_THAT(own_header_complaints("color/light.cpp", "int x = 0;\n"), SizeIs(1));
}

TEST(Text, IsCheckedLineByLine) {
    EXPECT_THAT(text_complaints("a.md", "one\ntwo\n"), IsEmpty());
    EXPECT_THAT(text_complaints("a.md", ""), IsEmpty());
    EXPECT_THAT(text_complaints("a.md", "one\r\n"), Contains(HasSubstr("a.md:1 holds a carriage return")));
    EXPECT_THAT(text_complaints("a.md", "one\ntwo \n"), Contains(HasSubstr("a.md:2 ends with a space")));
    EXPECT_THAT(text_complaints("a.md", "one\ttwo\t\n"), Contains(HasSubstr("a.md:1 ends with a space")));
    const std::string place = std::string("/ho") + "me/me/x";
    EXPECT_THAT(text_complaints("a.md", "see " + place + "\n"), Contains(HasSubstr("a.md:1 names a place")));
    EXPECT_THAT(text_complaints("a.md", "\"" + place + "\"\n"), SizeIs(1));
    EXPECT_THAT(text_complaints("a.md", "build" + place + "\n"), IsEmpty());
}

TEST(Literals, AreBlankedAndLinesKept) {
    EXPECT_EQ(without_comments_and_literals("a \"b\\\"c\" d"), "a \"    \" d");
    EXPECT_EQ(without_comments_and_literals("a // b\nc"), "a     \nc");
    EXPECT_EQ(without_comments_and_literals("a /* b\nc */ d"), "a     \n     d");
    EXPECT_EQ(without_comments_and_literals("R\"(a\n\"b)\" c"), "    \n     c");
    EXPECT_EQ(without_comments_and_literals("1'000'000 + 'a'"), "1'000'000 + ' '");
}

}  // namespace
}  // namespace house
