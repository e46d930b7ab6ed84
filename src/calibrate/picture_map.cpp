#include "calibrate/picture_map.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <thread>

#include "calibrate/plain_steps.hpp"
#include "calibrate/sensor_model.hpp"
#include "color/adaptation.hpp"

namespace sw {
namespace {

/// A rising curve through the origin as straight pieces between neighbors of a float's leading bits: as fine in the darks as in the lights.
class FastCurve {
public:
    static constexpr int kDropped = 16;           // bits of the mantissa: 128 pieces an octave
    static constexpr int kLowest = -12;           // below 2^kLowest: one piece from the origin
    static constexpr int kOctaves = 2 - kLowest;  // up to 4

    template <class Curve>
    explicit FastCurve(const Curve& curve) {
        double x0 = 0, y0 = 0;
        for (std::size_t i = 0; i < pieces_.size(); ++i) {
            const double x1 = std::bit_cast<float>((kBase + static_cast<std::uint32_t>(i) + 1) << kDropped), y1 = curve(x1);
            const double slope = (y1 - y0) / (x1 - x0);
            pieces_[i] = {static_cast<float>(y0 - slope * x0), static_cast<float>(slope)};
            x0 = x1;
            y0 = y1;
        }
    }
    /// x >= 0, not NaN; beyond 4 it goes on straight.
    [[nodiscard]] float operator()(float x) const {
        const auto at = static_cast<std::int32_t>(std::bit_cast<std::uint32_t>(x) >> kDropped) - static_cast<std::int32_t>(kBase);
        const Piece& p = pieces_[static_cast<std::size_t>(std::clamp(at, 0, kPieces - 1))];
        return p.at_zero + p.slope * x;
    }

private:
    struct Piece {
        float at_zero, slope;
    };
    static constexpr int kPieces = kOctaves << (23 - kDropped);
    static constexpr std::uint32_t kBase = static_cast<std::uint32_t>(127 + kLowest) << (23 - kDropped);
    std::array<Piece, kPieces> pieces_;
};

/// XYZ (Y = 1) relative to a white -> linear sRGB with that white as its own.
Eigen::Matrix3d to_linear_srgb(const Xyz& white) {
    const Xyz screen = xyz(LinearRgb{1, 1, 1});
    Eigen::Matrix3d m;
    for (int j = 0; j < 3; ++j) {
        Xyz unit;
        (j == 0 ? unit.X : j == 1 ? unit.Y : unit.Z) = 100;
        const LinearRgb c = linear_rgb(adapt(unit, white, screen));
        m.col(j) << c.r, c.g, c.b;
    }
    return m;
}

struct Matrix {
    std::array<float, 9> m;
    std::array<float, 3> offset;
    Matrix(const Eigen::Matrix3d& matrix, const Eigen::Vector3d& shift) : m{}, offset{} {
        for (int r = 0; r < 3; ++r) {
            for (int c = 0; c < 3; ++c) m[static_cast<std::size_t>(3 * r + c)] = static_cast<float>(matrix(r, c));
            offset[static_cast<std::size_t>(r)] = static_cast<float>(shift[r]);
        }
    }
    void apply(float& r, float& g, float& b) const {
        const float x = m[0] * r + m[1] * g + m[2] * b + offset[0], y = m[3] * r + m[4] * g + m[5] * b + offset[1];
        b = m[6] * r + m[7] * g + m[8] * b + offset[2];
        r = x;
        g = y;
    }
};

}  // namespace

struct PictureMap::Tables {
    PlainSteps steps;  // to linear sRGB
    bool as_it_came, own_primaries;
    std::shared_ptr<const SensorModel> field;  // the light's course; nothing: left as it is
    Matrix native, to_scene, from_scene, at_once;
    std::size_t bent_features = 0;
    std::array<float, 39> bent_by{};  // features in turn, r g b each
    FastCurve tone;

    Tables(const PlainSteps& s, bool original, std::shared_ptr<const SensorModel> light_course)
        : steps(s),
          as_it_came(original),
          own_primaries(!s.native.isIdentity(0)),
          field(std::move(light_course)),
          native(s.native, Eigen::Vector3d::Zero()),
          to_scene(s.to_scene, -s.veil),
          from_scene(s.bent ? s.bent->start : s.to_xyz, Eigen::Vector3d::Zero()),
          at_once(s.matrix(), s.offset()),
          tone([&](double v) { return s.tone.scene(v); }) {
        if (!s.bent) return;
        bent_features = static_cast<std::size_t>(s.bent->more.cols());
        for (std::size_t k = 0; k < bent_features; ++k) {
            for (std::size_t c = 0; c < 3; ++c)
                bent_by[3 * k + c] = static_cast<float>(s.bent->more(static_cast<Eigen::Index>(c), static_cast<Eigen::Index>(k)));
        }
    }

    /// What the scene's values are divided by at a place.
    [[nodiscard]] Eigen::Array3f light_at(double x, double y) const { return field->field({x, y}).array().exp().cast<float>(); }

    /// scene -> linear sRGB where no 3x3 does it: the features of map_features, in float.
    void bend(float& r, float& g, float& b) const {
        std::array<float, 13> f{std::max(r, 0.F), std::max(g, 0.F), std::max(b, 0.F)};
        if (bent_features > 3) {
            const float r2 = std::sqrt(f[0]), g2 = std::sqrt(f[1]), b2 = std::sqrt(f[2]);
            f[3] = r2 * g2;
            f[4] = g2 * b2;
            f[5] = r2 * b2;
        }
        if (bent_features > 6) {
            const float r3 = std::cbrt(f[0]), g3 = std::cbrt(f[1]), b3 = std::cbrt(f[2]);
            f[6] = r3 * g3 * g3;
            f[7] = g3 * b3 * b3;
            f[8] = r3 * b3 * b3;
            f[9] = g3 * r3 * r3;
            f[10] = b3 * g3 * g3;
            f[11] = b3 * r3 * r3;
            f[12] = r3 * g3 * b3;
        }
        from_scene.apply(r, g, b);
        for (std::size_t k = 0; k < bent_features; ++k) {
            r += bent_by[3 * k] * f[k];
            g += bent_by[3 * k + 1] * f[k];
            b += bent_by[3 * k + 2] * f[k];
        }
    }

    [[nodiscard]] float scene(float v) const { return std::copysign(tone(std::abs(v)), v); }

    template <class Code>
    void convert(const float* rgb, std::size_t pixels, Code* out, const std::optional<Point>& from) const {
        const bool level = field && from.has_value(), apart = level || steps.bent.has_value();
        constexpr std::size_t kPiece = 32;  // pixels between which the light's course is straight
        Eigen::Array3f here = Eigen::Array3f::Ones(), step = Eigen::Array3f::Zero(), next = here;
        if (level) next = 1 / light_at(from->x, from->y);
        constexpr float top = std::is_same_v<Code, std::uint8_t> ? 255.F : 65535.F;
        static const FastCurve encode([](double v) { return static_cast<double>(top) * linear_to_srgb(v); });
        const auto code = [](float linear) {  // NaN becomes 0
            const float inside = linear > 0.F ? std::min(linear, 1.F) : 0.F;
            return static_cast<Code>(static_cast<std::int32_t>(encode(inside) + 0.5F));
        };
        for (std::size_t i = 0; i < pixels; ++i, rgb += 3, out += 3) {
            float r = rgb[0], g = rgb[1], b = rgb[2];
            if (!as_it_came) {
                if (own_primaries) native.apply(r, g, b);
                r = scene(r);
                g = scene(g);
                b = scene(b);
                if (apart) {
                    to_scene.apply(r, g, b);
                    if (level) {
                        if (i % kPiece == 0) {
                            here = next;
                            next = 1 / light_at(from->x + static_cast<double>(i + kPiece), from->y);
                            step = (next - here) / static_cast<float>(kPiece);
                        }
                        r *= here[0];
                        g *= here[1];
                        b *= here[2];
                        here += step;
                    }
                    if (steps.bent) {
                        bend(r, g, b);
                    } else {
                        from_scene.apply(r, g, b);
                    }
                } else {
                    at_once.apply(r, g, b);
                }
            }
            out[0] = code(r);
            out[1] = code(g);
            out[2] = code(b);
        }
    }
};

PictureMap::PictureMap()
    : tables_(std::make_shared<const Tables>(
          PlainSteps{Eigen::Matrix3d::Identity(), {}, Eigen::Matrix3d::Identity(), Eigen::Vector3d::Zero(), Eigen::Matrix3d::Identity(), {}}, true,
          nullptr)) {}

PictureMap::PictureMap(const Calibration& calibration, const std::optional<Light>& under, Observer observer) {
    PlainSteps steps = under ? plain_steps(calibration, *under, observer) : plain_steps(calibration);
    const Eigen::Matrix3d to_srgb = to_linear_srgb(under ? xyz(*under, observer) : kWhiteD50);
    steps.to_xyz = to_srgb * steps.to_xyz;
    if (steps.bent) steps.bent = PlainMap{steps.bent->kind, to_srgb * steps.bent->start, to_srgb * steps.bent->more};
    tables_ = std::make_shared<const Tables>(steps, false, calibration.light.field_known ? calibration.sensor : nullptr);
}

void PictureMap::convert(const float* rgb, std::size_t pixels, std::uint8_t* out, const std::optional<Point>& from) const {
    tables_->convert(rgb, pixels, out, from);
}
void PictureMap::convert(const float* rgb, std::size_t pixels, std::uint16_t* out, const std::optional<Point>& from) const {
    tables_->convert(rgb, pixels, out, from);
}
bool PictureMap::levels() const { return tables_->field != nullptr; }

EncodedRgb PictureMap::color(const Eigen::Vector3d& rgb, const std::optional<Point>& at) const {
    const PlainSteps& s = tables_->steps;
    Eigen::Vector3d v = s.scene(rgb);
    if (at && tables_->field) v = v.array() / tables_->field->field(*at).array().exp();
    v = s.xyz(v);
    for (double& x : v) x = linear_to_srgb(std::clamp(x, 0.0, 1.0));
    return {v[0], v[1], v[2]};
}

namespace {

template <class Code>
void rows(const Photo& photo, const PictureMap& map, int first, int last, Code* out) {
    const auto width = static_cast<std::size_t>(photo.width), count = static_cast<std::size_t>(last - first);
    const std::size_t threads = std::clamp<std::size_t>(std::min<std::size_t>(std::thread::hardware_concurrency(), count * width / 65536), 1, 8);
    const auto part = [&](std::size_t i) {
        const std::size_t from = count * i / threads, to = count * (i + 1) / threads;
        std::vector<float> room;
        for (std::size_t y = from; y < to; ++y) {
            const int row = first + static_cast<int>(y);
            const Point middle{0.5, row + 0.5};  // pixel centers, as regions count them
            map.convert(photo.row(row, room), width, out + 3 * width * y, map.levels() ? std::optional(middle) : std::nullopt);
        }
    };
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < threads; ++i) others.emplace_back(part, i);
    part(0);
}

CorrectedPicture whole_picture(const Photo& photo, const PictureMap& map, const std::stop_token& stop, const std::function<void(float)>& progress) {
    const std::size_t row = 3 * static_cast<std::size_t>(photo.width);
    CorrectedPicture picture{photo.width, photo.height, std::vector<std::uint8_t>(row * static_cast<std::size_t>(photo.height)), false};
    const int block = std::max(64, 4'000'000 / std::max(1, photo.width));  // some 10 ms of work
    for (int y = 0; y < photo.height; y += block) {
        if (stop.stop_requested()) {
            picture.cancelled = true;
            return picture;
        }
        const int end = std::min(y + block, photo.height);
        convert_rows(photo, map, y, end, &picture.rgb[row * static_cast<std::size_t>(y)]);
        if (progress) progress(static_cast<float>(end) / static_cast<float>(photo.height));
    }
    return picture;
}

}  // namespace

void convert_rows(const Photo& photo, const PictureMap& map, int first, int last, std::uint8_t* out) { rows(photo, map, first, last, out); }
void convert_rows(const Photo& photo, const PictureMap& map, int first, int last, std::uint16_t* out) { rows(photo, map, first, last, out); }

CorrectedPicture correct_picture(const Photo& photo, const Calibration& calibration, std::stop_token stop,
                                 const std::function<void(float)>& progress) {
    return whole_picture(photo, PictureMap(calibration), stop, progress);
}

CorrectedPicture original_picture(const Photo& photo) {
    if (photo.table && !photo.table->to_srgb && photo.encoded == Encoding::srgb)  // its codes are the picture
        return {photo.width, photo.height, {photo.codes.begin(), photo.codes.end()}, false};
    return whole_picture(photo, PictureMap(), {}, {});
}

}  // namespace sw
