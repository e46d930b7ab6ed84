// The input profile, opened by lcms2 itself and by other ICC programs of the system, against plain_map.
#include "calibrate/profile.hpp"
#include "calibrate/ladder.hpp"

#include <lcms2.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iomanip>
#include <optional>
#include <sstream>

#include "calibrate/scene.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/difference.hpp"
#include "color/reference.hpp"
#include "photo/linearize.hpp"
#include "photo/table_profile.hpp"

namespace sw {
namespace {

using test::Scene;
using test::Worst;
using Bytes = std::vector<std::uint8_t>;

/// Asked for: profiles opened by other ICC programs give the same Lab within 0.1 on 1000 colors.
// A root-polynomial has roots, whose slopes run away where a channel sees next to nothing: a table is coarse there. 99 of 100 codes
// are held to 0.6, the worst (dark blues, up to 1.2) to what the program says of it.
constexpr double kRootTolerance = 0.6, kRootWorst = 1.5;
constexpr double kGrayTolerance = 0.15;                     // of CIEDE2000, which stretches a* by up to 1.5 near gray
constexpr double kTolerance = 0.1, kTableTolerance = 0.15;  // a table's 65 steps are coarse near black
constexpr int kColors = 1000, kSpare = 200;

class Folder {
public:
    Folder() : path_(std::filesystem::temp_directory_path() / ("sw-profile-" + std::to_string(::getpid()))) {
        std::filesystem::create_directories(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    [[nodiscard]] std::string operator/(const std::string& name) const { return (path_ / name).string(); }

private:
    std::filesystem::path path_;
};

void write(const std::string& path, const void* data, std::size_t size) {
    std::ofstream(path, std::ios::binary).write(static_cast<const char*>(data), static_cast<std::streamsize>(size));
}

std::string quoted(const std::string& path) { return "'" + path + "'"; }
bool runs(const std::string& command) { return std::system((command + " > /dev/null 2>&1").c_str()) == 0; }
bool there(const std::string& program) { return runs("command -v " + program); }

/// A picture's profile and what it should say of 1000 colors and some more.
struct Made {
    std::string name;
    bool table;
    Bytes profile;
    std::vector<std::uint16_t> codes;  // 16 bits, three a color
    std::vector<Lab> expected;
};

/// Codes at random, whose colors a profile can hold (XYZ 0..1.99, a* and b* within +-127) and that are lighter than L* 1: a step of 16 bits in XYZ,
/// all that a profile of this kind holds, is 0.06 in a* there.
Made make(const std::string& name, const Photo& photo, const Calibration& calibration) {
    Made made{name, photo.encoding.find("Table") != std::string::npos, *input_profile(photo, calibration), {}, {}};
    const Transfer transfer = photo.encoded == Encoding::linear ? Transfer{TransferKind::linear} : photo.transfer;
    const Result<Linearizer> file = Linearizer::make(photo.profile, transfer, 3, 16, photo.path);
    Random random(5);
    for (int tries = 0; tries < 100 * kColors && made.expected.size() < kColors + kSpare; ++tries) {
        std::array<std::uint16_t, 3> code{};
        for (std::uint16_t& c : code) c = static_cast<std::uint16_t>(std::lround(65535 * random.uniform()));
        std::array<float, 3> rgb{};
        file->convert(code.data(), 1, rgb.data());
        const Xyz xyz = plain_map(calibration, Eigen::Vector3d(rgb[0], rgb[1], rgb[2]));
        const Lab value = lab(xyz, kWhiteD50);
        if (std::min({xyz.X, xyz.Y, xyz.Z}) < 0 || std::max({xyz.X, xyz.Y, xyz.Z}) > 199 || value.L < 1 || value.L > 100) continue;
        if (std::max(std::abs(value.a), std::abs(value.b)) > 127) continue;
        made.codes.insert(made.codes.end(), code.begin(), code.end());
        made.expected.push_back(value);
    }
    return made;
}

const std::vector<Made>& profiles() {
    static const std::vector<Made> list = [] {
        std::vector<Made> all;
        for (const char* name : {"case-02", "case-08"}) {  // untagged; a matrix-and-curves profile
            const Scene& s = test::scene(name);
            const Photo& photo = test::photo_of(s);
            References card, chart;
            card.grays.push_back(s.card());
            chart.chart = s.chart();
            all.push_back(make(std::string(name) + " card, " + photo.encoding, photo, *calibrate(photo, card)));
            all.push_back(make(std::string(name) + " chart, " + photo.encoding, photo, *calibrate(photo, chart)));
        }
        // The same picture as if its file were encoded otherwise: only how codes become light changes.
        const Scene& s = test::scene("case-02");
        References chart;
        chart.chart = s.chart();
        const Calibration calibration = *calibrate(test::photo_of(s), chart);
        Photo other = test::photo_of(s);
        other.transfer = *parse_transfer("gamma:2.2");
        other.encoding = "gamma 2.2, as asked";
        other.encoded = Encoding::gamma;
        all.push_back(make("case-02 chart, " + other.encoding, other, calibration));
        other.encoding = "linear, says the file";  // the container's word, no profile
        other.encoded = Encoding::linear;
        all.push_back(make("case-02 chart, " + other.encoding, other, calibration));
        // A root-polynomial won: a table again, on the codes of the file as it is.
        Calibration bent = calibration;
        const ObserverMatrix d50 = observer_matrix(*light("D50"), Observer::degree2);
        MapReferences seen{Eigen::Matrix3Xd(3, 24), Eigen::Matrix3Xd(3, 24), Eigen::VectorXd::Ones(24)};
        for (int i = 0; i < 24; ++i) {
            seen.scene.col(i) = bent.sensor->scene(region_statistics(test::photo_of(s), s.patch(i).region, "patch")->mean);
            seen.xyz.col(i) = d50 * chart_colors(ChartTable::mean_before).reflectance.col(i);
        }
        bent.map =
            std::make_shared<const PlainMap>(fit_map(MapKind::root_polynomial_3, best_matrix(bent.sensor->rows(), d50), d50.rowwise().sum(), seen));
        all.push_back(make("case-02 chart, root-polynomial 3", test::photo_of(s), bent));
        all.back().table = true;
        other.transfer = {};
        other.profile = test::table_profile(4.3);
        other.encoded = Encoding::profile;
        other.encoding = "profile: Table test";
        all.push_back(make("case-02 chart, " + other.encoding, other, calibration));
        return all;
    }();
    return list;
}

double largest(const Lab& a, const Lab& b) { return std::max({std::abs(a.L - b.L), std::abs(a.a - b.a), std::abs(a.b - b.b)}); }

/// got: nothing where the program's own output could not hold the color.
void report(const Made& made, const std::vector<std::optional<Lab>>& got, const std::string& program) {
    ASSERT_EQ(got.size(), made.expected.size()) << program;
    Worst component, difference;
    std::vector<double> all;
    for (std::size_t i = 0; i < got.size() && difference.count() < kColors; ++i) {
        if (!got[i]) continue;
        std::ostringstream where;
        where << std::setprecision(3) << "Lab " << made.expected[i].L << " " << made.expected[i].a << " " << made.expected[i].b;
        component.see(largest(*got[i], made.expected[i]), where.str());
        all.push_back(difference_2000(*got[i], made.expected[i]));
        difference.see(all.back(), where.str());
    }
    EXPECT_EQ(difference.count(), static_cast<std::size_t>(kColors)) << program;
    if (!made.table) component.report(program + ", L* a* b*: " + made.name, kTolerance);
    const bool root = made.name.find("root-polynomial") != std::string::npos;
    if (root) {
        std::sort(all.begin(), all.end());
        EXPECT_LE(all[all.size() * 99 / 100], kRootTolerance) << program;
    }
    difference.report(program + ", dE00: " + made.name, root ? kRootWorst : made.table ? kTableTolerance : kGrayTolerance);
}

TEST(InputProfile, IsThePlainMapInLcms2) {
    for (const Made& made : profiles()) {
        cmsHPROFILE in = cmsOpenProfileFromMem(made.profile.data(), static_cast<cmsUInt32Number>(made.profile.size()));
        ASSERT_NE(in, nullptr);
        cmsHPROFILE out = cmsCreateLab4Profile(nullptr);
        cmsHTRANSFORM transform = cmsCreateTransform(in, TYPE_RGB_DBL, out, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, 0);
        std::vector<std::optional<Lab>> got;
        for (std::size_t i = 0; i < made.expected.size(); ++i) {
            const std::array<double, 3> rgb{made.codes[3 * i] / 65535.0, made.codes[3 * i + 1] / 65535.0, made.codes[3 * i + 2] / 65535.0};
            cmsCIELab value;
            cmsDoTransform(transform, rgb.data(), &value, 1);
            got.emplace_back(Lab{value.L, value.a, value.b});
        }
        cmsDeleteTransform(transform);
        cmsCloseProfile(in);
        cmsCloseProfile(out);
        report(made, got, "lcms2");
    }
}

// liblcms2-utils
TEST(InputProfile, IsThePlainMapInTransicc) {
    if (!there("transicc")) GTEST_SKIP() << "transicc (package liblcms2-utils) is not installed";
    const Folder folder;
    for (const Made& made : profiles()) {
        write(folder / "our.icc", made.profile.data(), made.profile.size());
        std::ofstream in(folder / "in.txt");
        for (std::size_t i = 0; i < made.codes.size(); ++i) in << std::setprecision(12) << made.codes[i] / 257.0 << (i % 3 == 2 ? "\n" : " ");
        in.close();
        ASSERT_EQ(std::system(("transicc -n -t1 -i" + quoted(folder / "our.icc") + " '-o*Lab' < " + quoted(folder / "in.txt") + " > " +
                               quoted(folder / "out.txt") + " 2> /dev/null")
                                  .c_str()),
                  0);
        std::ifstream out(folder / "out.txt");
        std::vector<std::optional<Lab>> got;
        for (Lab value; out >> value.L >> value.a >> value.b;) got.push_back(value);
        report(made, got, "transicc");
    }
}

/// The primaries of SMPTE ST 2065-1, which hold every color that light can have, with a curve that 16 bits are enough for.
cmsHPROFILE everything_profile() {
    const cmsCIExyY white{0.3457, 0.3585, 1};
    const cmsCIExyYTRIPLE primaries{{0.7347, 0.2653, 1}, {0.0, 1.0, 1}, {0.0001, -0.0770, 1}};
    cmsToneCurve* curve = cmsBuildGamma(nullptr, 2.4);
    const std::array curves{curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves.data());
    cmsFreeToneCurve(curve);
    return profile;
}

// imagemagick: a picture of the colors, 16 bits, through our profile into a wide RGB profile, which lcms2 takes to Lab. (Its own way to a Lab profile
// is of no use: version 6.9.11 cuts off what is below 0 in a* and b*.)
TEST(InputProfile, IsThePlainMapInImageMagick) {
    if (!there("convert") || !runs("convert -version")) GTEST_SKIP() << "convert (package imagemagick) is not installed";
    const Folder folder;
    cmsHPROFILE everything = everything_profile(), lab4 = cmsCreateLab4Profile(nullptr);
    ASSERT_TRUE(cmsSaveProfileToFile(everything, (folder / "everything.icc").c_str()));
    cmsHTRANSFORM to_lab = cmsCreateTransform(everything, TYPE_RGB_DBL, lab4, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
    for (const Made& made : profiles()) {
        write(folder / "our.icc", made.profile.data(), made.profile.size());
        write(folder / "in.rgb", made.codes.data(), 2 * made.codes.size());
        const std::string in = "-depth 16 -endian LSB -size " + std::to_string(made.expected.size()) + "x1 " + quoted("rgb:" + (folder / "in.rgb"));
        const std::string through = " -intent relative -profile " + quoted(folder / "our.icc") + " -profile " + quoted(folder / "everything.icc");
        ASSERT_TRUE(runs("convert " + in + through + " -depth 16 -endian LSB " + quoted("rgb:" + (folder / "out.rgb"))));
        std::ifstream out(folder / "out.rgb", std::ios::binary);
        std::vector<std::optional<Lab>> got;
        for (std::array<std::uint16_t, 3> code{}; out.read(reinterpret_cast<char*>(code.data()), sizeof code);) {
            const std::array<double, 3> rgb{code[0] / 65535.0, code[1] / 65535.0, code[2] / 65535.0};
            cmsCIELab value;
            cmsDoTransform(to_lab, rgb.data(), &value, 1);
            const bool inside = *std::min_element(code.begin(), code.end()) > 0 && *std::max_element(code.begin(), code.end()) < 65535;
            got.push_back(inside ? std::optional<Lab>({value.L, value.a, value.b}) : std::nullopt);
        }
        report(made, got, "ImageMagick");
    }
    cmsDeleteTransform(to_lab);
    cmsCloseProfile(everything);
    cmsCloseProfile(lab4);
}

TEST(InputProfile, SaysWhatItIs) {
    Photo photo = test::photo_of(test::scene("case-02"));
    photo.path = "a folder/bench M\xC3\xBC.jpg";
    References card;
    card.grays.push_back(test::scene("case-02").card());
    const Bytes bytes = *input_profile(photo, *calibrate(photo, card));
    cmsHPROFILE profile = cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
    ASSERT_NE(profile, nullptr);
    EXPECT_NEAR(cmsGetProfileVersion(profile), 4.3, 1e-9);
    EXPECT_EQ(cmsGetDeviceClass(profile), cmsSigInputClass);
    EXPECT_EQ(cmsGetColorSpace(profile), cmsSigRgbData);
    EXPECT_EQ(cmsGetPCS(profile), cmsSigXYZData);
    std::array<wchar_t, 100> words{};
    cmsGetProfileInfo(profile, cmsInfoDescription, "en", "US", words.data(), sizeof words);
    EXPECT_EQ(std::wstring(words.data()), L"Swatchwright: calibration of bench M\u00fc.jpg");
    cmsGetProfileInfo(profile, cmsInfoCopyright, "en", "US", words.data(), sizeof words);
    EXPECT_EQ(std::wstring(words.data()), L"No copyright: use it freely");
    cmsCloseProfile(profile);
}

TEST(InputProfile, IsRefusedForPicturesThatAreNotRgb) {
    Photo photo = test::photo_of(test::scene("case-02"));
    References card;
    card.grays.push_back(test::scene("case-02").card());
    const Calibration calibration = *calibrate(photo, card);
    photo.channels = 1;
    const auto gray = input_profile(photo, calibration);
    ASSERT_FALSE(gray);
    EXPECT_EQ(gray.error().fault, Fault::picture_unsupported);
    EXPECT_FALSE(gray.error().remedy.empty());
    photo.channels = 3;
    photo.encoding = "gamma 1.9, says the file";  // not what profile and transfer say
    photo.encoded = Encoding::gamma;
    EXPECT_FALSE(input_profile(photo, calibration));
    photo.encoded = Encoding::srgb;
    EXPECT_TRUE(input_profile(photo, calibration));
    photo.sensor.emplace();
    EXPECT_FALSE(input_profile(photo, calibration));
}

}  // namespace
}  // namespace sw
