#include "sheet/pages.hpp"

#include <algorithm>
#include <cmath>

#include "color/quantile.hpp"
#include "color/rendering.hpp"
#include "sheet/words.hpp"
#include "spectral/bands.hpp"

namespace sw {
namespace {

constexpr int kPlotFirst = 380, kPlotLast = 780;

// What the eye gets of it: the scale on which two lights are equally bright.
double brightness(const Bands& power) {
    const Bands& luminous = color_matching(Observer::degree2)[1];
    double sum = 0;
    for (std::size_t i = 0; i < kBands; ++i) sum += power[i] * luminous[i];
    return sum;
}

std::vector<double> shown(const Bands& power, double scale) {
    std::vector<double> values;
    for (int nm = kPlotFirst; nm <= kPlotLast; ++nm) values.push_back(power[static_cast<std::size_t>(nm - kFirstNm)] * scale);
    return values;
}

// Running mean over 9 nm: the edge of a few dozen draws jumps from one to the next, which means nothing.
std::vector<double> evened(const std::vector<double>& values) {
    constexpr std::size_t kReach = 4;
    std::vector<double> result;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const std::size_t first = i < kReach ? 0 : i - kReach, end = std::min(values.size(), i + kReach + 1);
        double sum = 0;
        for (std::size_t k = first; k < end; ++k) sum += values[k];
        result.push_back(sum / static_cast<double>(end - first));
    }
    return result;
}

}  // namespace

Plot light_plot(const Light& light, const LightQuality& quality, const std::vector<PlotFigure>& figures) {
    Plot plot;
    plot.title = light.name;
    plot.x = {"wavelength", "nm", kPlotFirst, kPlotLast};
    plot.y = {"power", "% of the highest", 0, {}};
    plot.wavelengths = true;
    plot.figures = figures;
    std::vector<double> x;
    for (int nm = kPlotFirst; nm <= kPlotLast; ++nm) x.push_back(nm);
    const double highest = *std::max_element(light.power.begin() + (kPlotFirst - kFirstNm), light.power.begin() + (kPlotLast - kFirstNm + 1));
    if (!(highest > 0)) return plot;  // all of it lies beyond what is drawn
    const double scale = 100 / highest;
    const bool doubtful = light.may_be && !light.may_be->empty();
    plot.lines.push_back({doubtful ? "mean of such lamps" : "the light", x, shown(light.power, scale)});
    if (quality.cct_valid) {
        const Light reference = reference_light_13_3(quality.cct);
        plot.lines.push_back({quality.cct < 5000 ? "black body, as bright" : "daylight, as bright", x,
                              shown(reference.power, scale * brightness(light.power) / brightness(reference.power))});
    }
    if (doubtful) {
        const std::vector<Bands>& draws = *light.may_be;
        std::vector<double> low, high, at_nm(draws.size());
        for (int nm = kPlotFirst; nm <= kPlotLast; ++nm) {
            for (std::size_t i = 0; i < draws.size(); ++i) at_nm[i] = draws[i][static_cast<std::size_t>(nm - kFirstNm)] * scale;
            std::sort(at_nm.begin(), at_nm.end());
            low.push_back(quantile_of_sorted(at_nm, 0.025));
            high.push_back(quantile_of_sorted(at_nm, 0.975));
        }
        plot.bands.push_back({"95 % of them", x, evened(low), evened(high)});
    }
    return plot;
}

Plot color_plot(const std::string& title, const PlotSwatch& swatch, const std::optional<BelievedReflectance>& believed,
                const std::vector<PlotFigure>& figures) {
    Plot plot;
    plot.title = title;
    plot.x = {"wavelength", "nm", 380, 730};
    plot.y = {"reflectance", "%", 0, {}};
    plot.wavelengths = true;
    plot.swatches = {swatch};
    plot.figures = figures;
    if (!believed) {
        plot.y.high = 100;
        return plot;
    }
    std::vector<double> x;
    for (int band = 0; band < kModelBands; ++band) x.push_back(model_nm(band));
    plot.lines.push_back({"likely for such a paint", x, believed->mean});
    if (!believed->smooth.empty()) plot.lines.push_back({"smoothest possible", x, believed->smooth});
    plot.bands.push_back({"95 % range", x, believed->low, believed->high});
    return plot;
}

}  // namespace sw
