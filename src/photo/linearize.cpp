#include "photo/linearize.hpp"

#include <lcms2.h>

#include <Eigen/Core>
#include <Eigen/LU>
#include <array>
#include <charconv>
#include <cmath>
#include <functional>
#include <span>
#include <type_traits>
#include <utility>

#include "color/adaptation.hpp"
#include "color/color.hpp"
#include "color/rows.hpp"
#include "photo/words.hpp"

namespace sw {
namespace {

struct Deleter {
    void operator()(void* profile) const { cmsCloseProfile(profile); }
    void operator()(cmsToneCurve* curve) const { cmsFreeToneCurve(curve); }
};
struct TransformDeleter {
    void operator()(void* transform) const { cmsDeleteTransform(transform); }
};
struct ContextDeleter {
    void operator()(cmsContext context) const { cmsDeleteContext(context); }
};
using Profile = std::unique_ptr<void, Deleter>;
using Curve = std::unique_ptr<cmsToneCurve, Deleter>;
using Transform = std::unique_ptr<void, TransformDeleter>;
using Context = std::unique_ptr<std::remove_pointer_t<cmsContext>, ContextDeleter>;

double power(double encoded, double gamma) { return std::copysign(std::pow(std::abs(encoded), gamma), encoded); }

std::string short_number(double value) {
    char digits[32];
    return {digits, std::to_chars(digits, digits + sizeof digits, value).ptr};
}

void keep_message(cmsContext context, cmsUInt32Number, const char* text) {
    if (auto* message = static_cast<std::string*>(cmsGetContextUserData(context))) *message = printable(text);
}

/// Linear light on the primaries of ITU-R BT.709 with white D65 (IEC 61966-2-1).
Profile linear_srgb_profile(cmsContext context) {
    const cmsCIExyY white{0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries{{0.64, 0.33, 1}, {0.30, 0.60, 1}, {0.15, 0.06, 1}};
    const Curve straight(cmsBuildGamma(context, 1));
    const std::array<cmsToneCurve*, 3> curves{straight.get(), straight.get(), straight.get()};
    return Profile(cmsCreateRGBProfileTHR(context, &white, &primaries, curves.data()));
}

/// RGB to the connection space's XYZ, one column a primary; false when a column is missing.
bool colorants(cmsHPROFILE profile, Eigen::Matrix3d& matrix) {
    const std::array tags{cmsSigRedColorantTag, cmsSigGreenColorantTag, cmsSigBlueColorantTag};
    for (int i = 0; i < 3; ++i) {
        const auto* c = static_cast<const cmsCIEXYZ*>(cmsReadTag(profile, tags[static_cast<std::size_t>(i)]));
        if (c == nullptr) return false;
        matrix.col(i) << c->X, c->Y, c->Z;
    }
    return true;
}

/// lcms2 takes the tables of these tags before matrix and curves.
bool has_table(cmsHPROFILE profile) {
    for (const auto tag : {cmsSigAToB0Tag, cmsSigAToB1Tag, cmsSigAToB2Tag, cmsSigDToB0Tag, cmsSigDToB1Tag, cmsSigDToB2Tag, cmsSigDToB3Tag}) {
        if (cmsIsTag(profile, tag)) return true;
    }
    return false;
}

bool straight(const cmsToneCurve* curve) {
    for (int i = 0; i <= 64; ++i) {
        const float x = static_cast<float>(i) / 64.0F;
        if (std::abs(cmsEvalToneCurveFloat(curve, x) - x) > 1e-3F) return false;
    }
    return true;
}

std::string description(cmsHPROFILE profile) {
    std::array<char, 128> text{};
    cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text.data(), static_cast<cmsUInt32Number>(text.size()) - 1);
    const std::string name = printable(text.data());
    return name.empty() ? "without a name" : name;
}

}  // namespace

struct Linearizer::Content {
    std::string encoding, lcms_message;
    std::vector<std::string> notes;
    Encoding kind = Encoding::srgb;
    DecidedBy decided_by = DecidedBy::nobody;
    bool linear = false;
    int channels = 3;

    std::array<std::function<double(double)>, 3> curves;  // encoded 0..1 to linear; unused when transform is set
    bool srgb_curve = false;                              // all three are that of IEC 61966-2-1, for which there are fast rows
    bool has_matrix = false;
    Eigen::Matrix3f matrix = Eigen::Matrix3f::Identity();
    Eigen::Matrix3d native_from_srgb = Eigen::Matrix3d::Identity();
    std::array<std::vector<float>, 3> tables;  // the curves on every code; for gray through lcms2 the three results of every code

    Context context;  // before what was made in it: destroyed last
    std::array<Curve, 3> icc_curves;
    Transform transform;          // for profiles that are more than matrix and curves
    bool gray_transform = false;  // it takes one channel

    Error broken(const std::string& file, const std::string& cause) const {
        return {Fault::profile_broken, file, "embedded color profile", cause + (lcms_message.empty() ? "" : " (" + lcms_message + ")"),
                "save the picture with a valid profile, or remove the profile"};
    }

    void use_same_curve(const std::function<double(double)>& curve) { curves.fill(curve); }

    /// Without a profile: the user's word, else the container's, else IEC 61966-2-1.
    void use_transfer(const Transfer& asked, const ContainerColor& container) {
        const bool user = asked.kind != TransferKind::automatic;
        const Transfer transfer = user ? asked : container.curve.value_or(Transfer{});
        if (container.primaries) use_primaries(*container.primaries);
        decided_by = user ? DecidedBy::user : container.curve || has_matrix ? DecidedBy::file : DecidedBy::nobody;
        const std::string who = user ? ", as asked" : " (" + container.words + (has_matrix ? ", with its own primaries)" : ")");
        switch (transfer.kind) {
            case TransferKind::automatic:
            case TransferKind::srgb:
                encoding = decided_by == DecidedBy::nobody ? "sRGB (no profile in the file)"
                           : decided_by == DecidedBy::user ? "sRGB" + who
                                                           : "sRGB's curve" + who;
                srgb_curve = true;
                return use_same_curve(srgb_to_linear);
            case TransferKind::linear:
                kind = Encoding::linear;
                encoding = "linear" + who;
                linear = true;
                return use_same_curve([](double e) { return e; });
            case TransferKind::bt1886:
                kind = Encoding::bt1886;
                encoding = "BT.1886 (gamma 2.4)" + who;
                return use_same_curve([](double e) { return power(e, 2.4); });  // ITU-R BT.1886 with a black level of 0
            case TransferKind::gamma:
                kind = Encoding::gamma;
                encoding = "gamma " + short_number(std::round(1000 * transfer.gamma) / 1000) + who;
                linear = std::abs(transfer.gamma - 1) < 1e-3;
                return use_same_curve([gamma = transfer.gamma](double e) { return power(e, gamma); });
        }
    }

    /// Normalized primary matrix (SMPTE RP 177), its white adapted to D65 (Bradford), then to the primaries of IEC 61966-2-1.
    void use_primaries(const Chromaticities& xy) {
        if (channels != 3) return;
        constexpr Chromaticities kSrgb{0.64, 0.33, 0.30, 0.60, 0.15, 0.06, 0.3127, 0.3290};
        constexpr double kSame = 2e-3;
        bool same = true, usable = true;
        Eigen::Matrix<double, 3, 4> columns;
        for (int i = 0; i < 4; ++i) {
            const double x = xy[static_cast<std::size_t>(2 * i)], y = xy[static_cast<std::size_t>(2 * i) + 1];
            columns.col(i) << x, y, 1 - x - y;
            usable = usable && std::abs(x) < 3 && std::abs(y) < 3;  // a blue primary may lie outside the spectrum
            for (int k = 0; k < 2; ++k)
                same = same && std::abs(xy[static_cast<std::size_t>(2 * i + k)] - kSrgb[static_cast<std::size_t>(2 * i + k)]) < kSame;
        }
        if (same) return;
        const Eigen::Matrix3d primaries = columns.leftCols<3>();
        const double white_y = columns(1, 3);
        usable = usable && white_y > 0.05 && columns(0, 3) > 0.05 && columns(2, 3) > 0.05 && std::abs(primaries.determinant()) > 1e-3;
        if (usable) {
            const Eigen::Vector3d white = columns.col(3) / white_y;
            const Eigen::Vector3d sums = primaries.inverse() * white;
            const Xyz from{100 * white[0], 100, 100 * white[2]}, to{100 * 0.3127 / 0.3290, 100, 100 * (1 - 0.3127 - 0.3290) / 0.3290};
            Eigen::Matrix3d srgb_from_native;
            for (int i = 0; i < 3; ++i) {
                const Eigen::Vector3d c = 100 * sums[i] * primaries.col(i);
                const LinearRgb rgb = linear_rgb(adapt(Xyz{c[0], c[1], c[2]}, from, to));
                srgb_from_native.col(i) << rgb.r, rgb.g, rgb.b;
            }
            usable = std::abs(srgb_from_native.determinant()) > 1e-3;
            if (usable) use_matrix(srgb_from_native);
        }
        if (!usable) notes.emplace_back("the primaries that the file names cannot be; those of sRGB were taken");
    }

    void use_matrix(const Eigen::Matrix3d& srgb_from_native) {
        matrix = srgb_from_native.cast<float>();
        native_from_srgb = srgb_from_native.inverse();
        has_matrix = true;
    }

    Result<Done> use_profile(std::span<const std::uint8_t> bytes, const std::string& file) {
        context.reset(cmsCreateContext(nullptr, &lcms_message));
        if (!context) return Error{Fault::internal, file, "", "not enough memory for the color profile", "close other programs"};
        cmsSetLogErrorHandlerTHR(context.get(), keep_message);
        const Profile profile(cmsOpenProfileFromMemTHR(context.get(), bytes.data(), static_cast<cmsUInt32Number>(bytes.size())));
        if (!profile) return broken(file, "cannot be read");

        const auto space =
            static_cast<cmsUInt32Number>(cmsGetColorSpace(profile.get()));  // a file's four letters: any value, not the enumeration's alone
        const bool gray_profile = space == cmsSigGrayData, inks = space == cmsSigCmykData;
        if (channels == 4 && !inks) return broken(file, "is not made for pictures in CMYK");
        if (channels != 4 && space != cmsSigRgbData && !(gray_profile && channels == 1)) return broken(file, "is not made for pictures in RGB");
        const auto device = static_cast<cmsUInt32Number>(cmsGetDeviceClass(profile.get()));
        if (device != cmsSigInputClass && device != cmsSigDisplayClass && device != cmsSigOutputClass && device != cmsSigColorSpaceClass)
            return broken(file, "is not the profile of a device or a color space");
        encoding = "profile: " + description(profile.get());
        kind = Encoding::profile;
        decided_by = DecidedBy::file;

        const Profile output = linear_srgb_profile(context.get());
        if (!output) return broken(file, "cannot be used");
        const bool matrix_and_curves =
            !gray_profile && !inks && cmsIsMatrixShaper(profile.get()) && !has_table(profile.get()) && cmsGetPCS(profile.get()) == cmsSigXYZData;
        if (matrix_and_curves) {
            Eigen::Matrix3d in, out;
            if (!colorants(profile.get(), in) || !colorants(output.get(), out)) return broken(file, "has no usable primaries");
            const Eigen::Matrix3d srgb_from_native = out.inverse() * in;
            if (!(std::abs(srgb_from_native.determinant()) > 1e-6)) return broken(file, "has no usable primaries");
            use_matrix(srgb_from_native);
            const std::array tags{cmsSigRedTRCTag, cmsSigGreenTRCTag, cmsSigBlueTRCTag};
            linear = true;
            for (std::size_t i = 0; i < 3; ++i) {
                icc_curves[i].reset(cmsDupToneCurve(static_cast<const cmsToneCurve*>(cmsReadTag(profile.get(), tags[i]))));
                if (!icc_curves[i]) return broken(file, "has no usable tone curves");
                linear = linear && straight(icc_curves[i].get());
                curves[i] = [curve = icc_curves[i].get()](double e) { return cmsEvalToneCurveFloat(curve, static_cast<float>(e)); };
            }
            return Done{};
        }
        if (gray_profile) {
            const auto* curve = static_cast<const cmsToneCurve*>(cmsReadTag(profile.get(), cmsSigGrayTRCTag));
            linear = curve != nullptr && straight(curve);
        }
        transform.reset(cmsCreateTransformTHR(context.get(), profile.get(),
                                              gray_profile ? TYPE_GRAY_FLT
                                              : inks       ? TYPE_CMYK_FLT
                                                           : TYPE_RGB_FLT,
                                              output.get(), TYPE_RGB_FLT, INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE));
        if (!transform) return broken(file, "cannot be used");
        gray_transform = gray_profile;
        if (!gray_profile && !inks) linear = neutrals_straight();
        return Done{};
    }

    /// A table profile whose neutrals rise in proportion to the code: a linear encoding.
    bool neutrals_straight() const {
        constexpr int kSteps = 16;
        std::array<double, kSteps + 1> green{};
        for (std::size_t i = 0; i < green.size(); ++i) {
            const float code = static_cast<float>(i) / kSteps;
            const std::array<float, 3> encoded{code, code, code};
            float rgb[3];
            one(encoded.data(), rgb);
            green[i] = static_cast<double>(rgb[1]);
        }
        for (std::size_t i = 0; i < green.size(); ++i) {
            if (!(std::abs(green[i] - green[kSteps] * static_cast<double>(i) / kSteps) < 5e-3 * green[kSteps])) return false;
        }
        return true;
    }

    void one(const float* encoded, float* rgb) const { floats(encoded, 1, rgb); }

    void floats(const float* in, std::size_t pixels, float* rgb) const {
        if (transform) {
            if (channels == 4) {  // lcms2 counts inks in percent
                std::vector<float> percent(in, in + 4 * pixels);
                for (float& ink : percent) ink *= 100;
                return cmsDoTransform(transform.get(), percent.data(), rgb, static_cast<cmsUInt32Number>(pixels));
            }
            if (channels == 3 || gray_transform) return cmsDoTransform(transform.get(), in, rgb, static_cast<cmsUInt32Number>(pixels));
            std::vector<float> wide(3 * pixels);
            for (std::size_t i = 0; i < wide.size(); ++i) wide[i] = in[i / 3];
            return cmsDoTransform(transform.get(), wide.data(), rgb, static_cast<cmsUInt32Number>(pixels));
        }
        if (srgb_curve && channels == 3) {
            srgb_to_linear_rows(std::span(in, 3 * pixels), std::span(rgb, 3 * pixels));
            for (std::size_t p = 0; has_matrix && p < pixels; ++p) apply_matrix(rgb + 3 * p);
            return;
        }
        const std::size_t step = channels == 3 ? 1 : 0;
        for (std::size_t p = 0; p < pixels; ++p, in += channels, rgb += 3) {
            for (std::size_t c = 0; c < 3; ++c) rgb[c] = static_cast<float>(curves[c](in[c * step]));
            apply_matrix(rgb);
        }
    }

    void apply_matrix(float* rgb) const {
        if (!has_matrix) return;
        const float r = rgb[0], g = rgb[1], b = rgb[2];
        for (int i = 0; i < 3; ++i) rgb[i] = matrix(i, 0) * r + matrix(i, 1) * g + matrix(i, 2) * b;
    }

    void fill_tables(int bits) {
        if (bits > 16 || (transform && channels != 1)) return;
        const std::size_t codes = bits == 8 ? 256 : 65536;
        for (auto& table : tables) table.resize(codes);
        for (std::size_t code = 0; code < codes; ++code) {
            const double encoded = static_cast<double>(code) / static_cast<double>(codes - 1);
            if (transform) {
                const auto gray = static_cast<float>(encoded);
                float rgb[3];
                floats(&gray, 1, rgb);
                for (std::size_t c = 0; c < 3; ++c) tables[c][code] = rgb[c];
            } else {
                for (std::size_t c = 0; c < 3; ++c) tables[c][code] = static_cast<float>(curves[c](encoded));
            }
        }
    }

    template <class Code>
    void codes(const Code* in, std::size_t pixels, float* rgb) const {
        if (transform && channels != 1) {
            std::vector<float> encoded(static_cast<std::size_t>(channels) * pixels);
            for (std::size_t i = 0; i < encoded.size(); ++i) encoded[i] = static_cast<float>(in[i]) / static_cast<float>(static_cast<Code>(-1));
            return floats(encoded.data(), pixels, rgb);
        }
        const std::size_t step = channels == 3 ? 1 : 0;
        for (std::size_t p = 0; p < pixels; ++p, in += channels, rgb += 3) {
            for (std::size_t c = 0; c < 3; ++c) rgb[c] = tables[c][in[c * step]];
            apply_matrix(rgb);
        }
    }
};

Linearizer::Linearizer(std::unique_ptr<Content> content) : content_(std::move(content)) {}
Linearizer::Linearizer(Linearizer&&) noexcept = default;
Linearizer& Linearizer::operator=(Linearizer&&) noexcept = default;
Linearizer::~Linearizer() = default;

Result<Linearizer> Linearizer::make(std::span<const std::uint8_t> profile, const Transfer& transfer, int channels, int bits, const std::string& file,
                                    const ContainerColor& container) {
    assert((channels == 1 || channels == 3 || channels == 4) && (bits == 8 || bits == 16 || bits == 32));
    auto content = std::make_unique<Content>();
    content->channels = channels;
    if (channels == 4 && profile.empty()) return cmyk(file);
    if (channels != 4 && (profile.empty() || transfer.kind != TransferKind::automatic)) {
        content->use_transfer(transfer, container);
        if (!profile.empty()) content->notes.emplace_back("the file holds a color profile, which was not used because a transfer was asked for");
    } else {
        if (transfer.kind != TransferKind::automatic)
            content->notes.emplace_back("inks have no transfer: the profile was used, not what was asked for");
        if (auto used = content->use_profile(profile, file); !used) return used.error();
        // A profile that parses may still be nonsense: white must be finite and lighter than black.
        float rgb[3];
        double luminance[2];
        for (int i = 0; i < 2; ++i) {
            std::array<float, 4> encoded{};
            encoded.fill(static_cast<float>(channels == 4 ? 1 - i : i));  // the more ink, the darker
            content->one(encoded.data(), rgb);
            luminance[i] = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
        }
        if (!std::isfinite(luminance[0]) || !std::isfinite(luminance[1]) || luminance[1] < 0.01 || luminance[1] > 100 || luminance[1] <= luminance[0])
            return content->broken(file, "does not make white lighter than black");
    }
    content->fill_tables(bits);
    return Linearizer(std::move(content));
}

void Linearizer::convert(const std::uint8_t* samples, std::size_t pixels, float* rgb) const { content_->codes(samples, pixels, rgb); }
void Linearizer::convert(const std::uint16_t* samples, std::size_t pixels, float* rgb) const { content_->codes(samples, pixels, rgb); }
void Linearizer::convert(const float* samples, std::size_t pixels, float* rgb) const { content_->floats(samples, pixels, rgb); }
const std::string& Linearizer::encoding() const { return content_->encoding; }
Encoding Linearizer::kind() const { return content_->kind; }
DecidedBy Linearizer::decided_by() const { return content_->decided_by; }
bool Linearizer::linear() const { return content_->linear; }
std::array<double, 9> Linearizer::native_from_srgb() const {
    std::array<double, 9> rows{};
    Eigen::Map<Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(rows.data()) = content_->native_from_srgb;
    return rows;
}
std::shared_ptr<const CodeTable> Linearizer::table() const {
    const Content& c = *content_;
    if (c.transform || c.channels != 3 || c.tables[0].size() != 256) return nullptr;
    auto table = std::make_shared<CodeTable>();
    for (std::size_t k = 0; k < 3; ++k) std::copy(c.tables[k].begin(), c.tables[k].end(), table->light[k].begin());
    if (c.has_matrix) Eigen::Map<Eigen::Matrix<float, 3, 3, Eigen::RowMajor>>(table->to_srgb.emplace().data()) = c.matrix;
    return table;
}
bool Linearizer::through_lcms() const { return content_->transform != nullptr; }
const std::vector<std::string>& Linearizer::notes() const { return content_->notes; }

Result<Transfer> parse_transfer(const std::string& text) {
    if (text == "auto") return Transfer{};
    if (text == "srgb") return Transfer{TransferKind::srgb};
    if (text == "linear") return Transfer{TransferKind::linear};
    if (text == "bt1886") return Transfer{TransferKind::bt1886};
    const Error bad{Fault::bad_usage, "", "transfer " + printable(text, 60), "is not a transfer we know",
                    "write auto, srgb, linear, bt1886 or gamma:G with G from 0.5 to 4"};
    const std::string prefix = "gamma:";
    if (!text.starts_with(prefix)) return bad;
    Transfer result{TransferKind::gamma};
    const char* end = text.data() + text.size();
    const auto parsed = std::from_chars(text.data() + prefix.size(), end, result.gamma);
    if (parsed.ec != std::errc{} || parsed.ptr != end || !(result.gamma >= 0.5 && result.gamma <= 4)) return bad;
    return result;
}

}  // namespace sw
