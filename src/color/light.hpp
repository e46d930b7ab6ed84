// Lights by name, and what a light is worth.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "color/spectrum.hpp"

namespace sw {

/// Gives a file's text; used for lights that are CSV files, so that this folder does no input itself.
using FileReader = std::function<Result<std::string>(const std::string& path)>;

/// Gives a light of the user's own by its name. Error name_unknown: there is none of that name.
using OwnLights = std::function<Result<Light>(const std::string& name)>;

/// The light a LIGHT string names: `A` `C` `D50` `D55` `D65` `D75` `F1`..`F12` `LED-B1`..`LED-V2` (any case), `daylight:K` (4000..25000),
/// `planck:K` (500..50000), `led:K[,ra=R][,duv=D][,peak=NM]` (2200..8000 K, blue pump + phosphor), a blend `0.7*L+0.3*L` (shares of illuminance,
/// > 0; need not add up to 1), the path of a CSV file, or the name of one of `own` where it is nothing else. In double quotes a name is always one of
/// `own`, also in a blend: `0.7*"bench lamp"+0.3*D65`; without them a light in a blend ends at a plus sign behind which a share stands.
/// The name of the result is the canonical form of the text.
/// A shop LED carries its doubt (Light::may_be), and so does a blend with one: each of its spectra is a blend of one draw of each lamp. The same
/// text is the same lamp; lamps of different texts are independent.
/// Errors: light_unknown with what would do; table_malformed / file_missing from the file; what `own` gives but for name_unknown.
[[nodiscard]] Result<Light> light(std::string_view text, const FileReader& read_file = {}, const OwnLights& own = {});

/// The names that need no figure: A, C, D50, ... F12, LED-B1, ... LED-V2, in that order.
[[nodiscard]] const std::vector<std::string>& standard_light_names();

/// CIE daylight of a CCT (K), 4000..25000. Source: CIE 015:2018, 4.1.2.
[[nodiscard]] Light daylight(double cct);
/// Planckian radiator (K), 500..50000, c2 = 1.4388e-2 m K.
[[nodiscard]] Light planck(double cct);

/// Light quality. cct in K and duv (signed, above the locus +) are meaningless where |duv| > 0.05: then cct_valid is
/// false and all the figures after it are 0.
struct LightQuality {
    double cct = 0, duv = 0;
    bool cct_valid = false;
    double ra = 0, r9 = 0;        // CIE 13.3-1995
    std::array<double, 15> ri{};  // R1..R14; R15 stays 0: no free table of its sample (JIS Z 8726) with enough digits
    double rf = 0, rg = 0;        // CIE 224:2017, ANSI/IES TM-30-18
};
[[nodiscard]] LightQuality light_quality(const Light&);
/// Standard deviations of the same figures over the spectra the light may have; all 0 for a known light. cct_valid: whether they could be had, that
/// is, all those spectra have a CCT. Test: tests/color/shop_led_test.cpp
[[nodiscard]] LightQuality light_quality_sd(const Light&);

}  // namespace sw
