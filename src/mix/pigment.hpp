// What is believed of a paint before anything of it is read: made-up members of classes of pigments.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <string_view>

#include "color/result.hpp"
#include "spectral/bands.hpp"

namespace sw {

/// As the Colour Index names them, the iron oxides and other earths apart; any: nothing is known.
enum class PigmentClass { white, black, yellow, orange, red, violet, blue, green, earth, any };

/// From a generic name of the Colour Index (PW6, PY42, PBr7 ...; case and blanks do not matter): the letters tell the hue, and iron oxides are earths
/// (PY42, PY43, PR101, PR102, all PBr). PR122 and PV19 are violets: quinacridones. Fault name_unknown: no such name.
/// Source: the system of generic names (Colour Index, Society of Dyers and Colourists); which pigments are earths: from memory.
[[nodiscard]] Result<PigmentClass> pigment_class(std::string_view index_name);

/// Members of a class, one a column: ln K (71 rows), then ln S (71 rows), where a strong white has S = 1. The ranges are our own, wide on purpose.
[[nodiscard]] Eigen::MatrixXd pigment_members(PigmentClass, int count, std::uint64_t seed);

/// Mean and covariance of members, with what no member shows: smooth ripples (sd 0.25, 25 nm) and a little at each band (0.03), of ln K and ln S.
struct PigmentBelief {
    Eigen::VectorXd mean;        // 142
    Eigen::MatrixXd covariance;  // 142 x 142
};
[[nodiscard]] PigmentBelief pigment_belief(const Eigen::MatrixXd& members, const Eigen::VectorXd& weights);

}  // namespace sw
