// Each command: request in, answer out. Nothing is printed here.
#pragma once

#include <string>
#include <vector>

#include "cli/request.hpp"

namespace sw {

/// What goes to standard output, to standard error, and back to the shell.
struct Answer {
    std::string text;
    std::vector<std::string> messages;
    int exit_code = 0;
};

[[nodiscard]] Result<Answer> run(const HelpRequest&);
[[nodiscard]] Result<Answer> run(const MeasureRequest&);
[[nodiscard]] Result<Answer> run(const CompareRequest&);
[[nodiscard]] Result<Answer> run(const RankRequest&);
[[nodiscard]] Result<Answer> run(const CoatRequest&);
[[nodiscard]] Result<Answer> run(const MapRequest&);
[[nodiscard]] Result<Answer> run(const CorrectRequest&);
[[nodiscard]] Result<Answer> run(const CalibrateRequest&);
[[nodiscard]] Result<Answer> run(const SpectraRequest&);
[[nodiscard]] Result<Answer> run(const LightRequest&);
[[nodiscard]] Result<Answer> run(const ColorRequest&);
[[nodiscard]] Result<Answer> run(const ScreenRequest&);
[[nodiscard]] Result<Answer> run(const TargetRequest&);
[[nodiscard]] Result<Answer> run(const CardRequest&);
[[nodiscard]] Result<Answer> run(const SetupRequest&);
[[nodiscard]] Result<Answer> run(const DemoRequest&);
[[nodiscard]] Result<Answer> run(const PartRequest&);
[[nodiscard]] Result<Answer> run(const ReadingBookRequest&);
[[nodiscard]] Result<Answer> run(const PhotoBookRequest&);
[[nodiscard]] Result<Answer> run(const LampRequest&);
[[nodiscard]] Result<Answer> run(const NoteRequest&);
[[nodiscard]] Result<Answer> run(const FindRequest&);
[[nodiscard]] Result<Answer> run(const WorkbookRequest&);
[[nodiscard]] Result<Answer> run(const ExportRequest&);
[[nodiscard]] Result<Answer> run(const ImportRequest&);
[[nodiscard]] Result<Answer> run(const SheetRequest&);
[[nodiscard]] Result<Answer> run(const ShareRequest&);
[[nodiscard]] Result<Answer> run(const PaintRequest&);
[[nodiscard]] Result<Answer> run(const MixRequest&);

/// For a color by itself where tones were changed from place to place.
[[nodiscard]] Error color_unknown(const std::string& file, const std::string& place);

}  // namespace sw
