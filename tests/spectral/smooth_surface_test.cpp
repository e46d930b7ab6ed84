// The smoothest reflectance of a color (LHTSS).
#include "spectral/smooth_surface.hpp"

#include <Eigen/Dense>

#include "color/light.hpp"
#include "spectral/surfaces.hpp"
#include "spectral/tables.hpp"

namespace sw {
namespace {

Xyz color_of(const ModelSpectrum& r, const Light& l) {
    const Eigen::Vector3d v = 100 * (observer_matrix(l, Observer::degree2) * r);
    return {v[0], v[1], v[2]};
}
double roughness(const ModelSpectrum& r) {
    const Eigen::ArrayXd z = (2 * r.array() - 1).atanh();
    return (z.tail(kModelBands - 1) - z.head(kModelBands - 1)).square().sum();
}

// The header's promise, on colors of the library (paints, walks, dark and saturated ones) under four lights: the color within 1e-8, strictly within
// 0..1, and no rougher than the surface the color is of, which has that color too.
TEST(SmoothSurface, HasTheColorAndIsTheSmoothest) {
    test::Worst worst;
    for (const char* name : {"D65", "A", "LED-B3", "F11"}) {
        const Light l = *light(name);
        for (int i = 7; i < kSurfaces; i += test::kSlow ? 4001 : 1009) {
            const ModelSpectrum r = surface_library().col(i).cast<double>();
            const Xyz color = color_of(r, l);
            const Result<ModelSpectrum> smooth = smooth_surface(color, l, Observer::degree2);
            ASSERT_TRUE(smooth) << name << " " << i << ": " << describe(smooth.error());
            const Xyz again = color_of(*smooth, l);
            worst.see(std::max({std::abs(again.X - color.X), std::abs(again.Y - color.Y), std::abs(again.Z - color.Z)}), name + std::to_string(i));
            EXPECT_GT(smooth->minCoeff(), 0);
            EXPECT_LT(smooth->maxCoeff(), 1);
            EXPECT_LE(roughness(*smooth), roughness(r) * (1 + 1e-9)) << name << " " << i;
        }
    }
    worst.report("XYZ of the smoothest surface, 0..100", 1e-8);
}

// Source: Burns 2017, section on LHTSS: what has the light's own chromaticity comes out flat.
TEST(SmoothSurface, OfAGrayIsFlat) {
    const Light l = *light("D50");
    const Xyz white = xyz(l, Observer::degree2);
    for (double y : {0.001, 0.03, 0.2, 0.5, 0.97, 0.999}) {
        const Result<ModelSpectrum> r = smooth_surface(Xyz{white.X * y, white.Y * y, white.Z * y}, l, Observer::degree2);
        ASSERT_TRUE(r) << y;
        EXPECT_LT((r->array() - y).abs().maxCoeff(), 1e-9) << y;
    }
}

// What no surface can be: nothing at all, the diffuser and beyond, numbers that are none, a glowing red (Y 60 with the chromaticity of a spectral
// red, far outside the solid: MacAdam 1935 allows Y below 20 there).
TEST(SmoothSurface, SaysWhereThereIsNone) {
    const Light l = *light("D65");
    const double nan = std::nan("");
    for (const Xyz& c :
         {Xyz{0, 0, 0}, Xyz{95.04707, 100, 108.88285}, Xyz{120, 120, 120}, Xyz{-1, 5, 5}, Xyz{nan, 5, 5}, Xyz{94, 60, 0.5}, Xyz{30, 60, 1e9}}) {
        const Result<ModelSpectrum> r = smooth_surface(c, l, Observer::degree2);
        ASSERT_FALSE(r) << c.X << " " << c.Y << " " << c.Z;
        EXPECT_EQ(r.error().fault, Fault::known_unusable);
        EXPECT_FALSE(r.error().remedy.empty());
    }
}

// Near the edge of what surfaces can be it still answers: a step from 0.01 to 0.97, the steepest a filter or paint has.
TEST(SmoothSurface, GoesNearTheEdge) {
    const Light l = *light("D65");
    for (int edge : {20, 35, 50}) {
        ModelSpectrum r = ModelSpectrum::Constant(0.01);
        r.tail(kModelBands - edge).setConstant(0.97);
        const Xyz color = color_of(r, l);
        const Result<ModelSpectrum> smooth = smooth_surface(color, l, Observer::degree2);
        ASSERT_TRUE(smooth) << edge;
        EXPECT_NEAR(color_of(*smooth, l).Y, color.Y, 1e-8);
    }
}

}  // namespace
}  // namespace sw
