#include "spectral/bands.hpp"

namespace sw {

ModelSpectrum on_model_grid(const Bands& bands) {
    ModelSpectrum values;
    for (int i = 0; i < kModelBands; ++i) values[i] = bands[static_cast<std::size_t>(model_nm(i) - kFirstNm)];
    return values;
}

ObserverMatrix observer_matrix(const Light& light, Observer observer) {
    const std::array<Bands, 3>& functions = color_matching(observer);
    const ModelSpectrum power = on_model_grid(light.power);
    const Xyz white = xyz(light, observer);
    const std::array<double, 3> sums{white.X / 100, white.Y / 100, white.Z / 100};
    ObserverMatrix matrix;
    for (int row = 0; row < 3; ++row) {
        matrix.row(row) = on_model_grid(functions[static_cast<std::size_t>(row)]).cwiseProduct(power).transpose();
        matrix.row(row) *= sums[static_cast<std::size_t>(row)] / matrix.row(row).sum();
    }
    return matrix;
}

}  // namespace sw
