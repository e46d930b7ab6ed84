// Rules of the house that a compiler does not know, checked on the text of the sources.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace house {

/// What is wrong with one source file of src/, one line each: "match/compare.cpp:7 includes workbook/..., which stands to the right of match".
/// `path` is relative to src/ ("match/compare.cpp", "main.cpp"). Checked:
///   - a folder includes only itself and what stands left of it: color spectral photo calibrate match mix workbook sheet {cli viewer}
///   - ImGui, OpenGL and GLFW only in viewer/
///   - printing only in cli/, viewer/ and main.cpp
///   - headers include the standard library, ours, and from spectral/ on Eigen; no other library
///   - the science (everything left of cli and viewer) holds no variable that can change at namespace scope, in a class or as a local static
/// Text only: it looks at one file at a time, after taking out comments and literals, and does not expand macros.
[[nodiscard]] std::vector<std::string> layer_complaints(std::string_view path, std::string_view text);

/// Of a source beside which a header of its name stands: includes it first, so that compiling the source proves that the header can stand alone.
/// `path` as above.
[[nodiscard]] std::vector<std::string> own_header_complaints(std::string_view path, std::string_view text);

/// What is wrong with any text file of the repository: carriage returns, spaces at a line's end, paths of somebody's own computer.
[[nodiscard]] std::vector<std::string> text_complaints(std::string_view path, std::string_view text);

/// The code alone: comments and the insides of string and character literals become spaces, lines stay where they are.
[[nodiscard]] std::string without_comments_and_literals(std::string_view text);

}  // namespace house
