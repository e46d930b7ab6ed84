// Ready-made plots: a light, a color. The figures beside them come as text from whoever shows them.
#pragma once

#include <optional>

#include "color/light.hpp"
#include "sheet/plot.hpp"

namespace sw {

/// The light's spectrum over 380..780 nm (highest = 100 %), where 95 % of the spectra it may have lie wavelength by wavelength, and the
/// light that its rendering is judged against (CIE 13.3), as bright as it, where its CCT is valid.
[[nodiscard]] Plot light_plot(const Light& light, const LightQuality& quality, const std::vector<PlotFigure>& figures);

/// Reflectances over 380..730 nm in percent, 71 values each (spectral/bands.hpp), as they are believed of one color.
struct BelievedReflectance {
    std::vector<double> mean, low, high;  // low, high: 95 % range at each wavelength
    std::vector<double> smooth;           // the smoothest one of the color; empty where there is none
    bool unusual = false;                 // unlike any surface known: the range may be too small
};
/// The color as a large swatch, and what its reflectance may be; an empty frame, for the reason as a note, where no surface can
/// have the color.
[[nodiscard]] Plot color_plot(const std::string& title, const PlotSwatch& swatch, const std::optional<BelievedReflectance>& believed,
                              const std::vector<PlotFigure>& figures);

}  // namespace sw
