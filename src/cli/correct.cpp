#include <array>
#include <filesystem>
#include <string_view>
#include <system_error>

#include "calibrate/profile.hpp"
#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/json.hpp"
#include "cli/photo_job.hpp"
#include "cli/report.hpp"
#include "sheet/corrected.hpp"
#include "sheet/file.hpp"
#include "sheet/report_picture.hpp"

namespace sw {
namespace {

namespace fs = std::filesystem;

Result<Done> can_save_profile(const std::string& path) {
    std::string ending = fs::path(path).extension().string();
    for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (ending == ".icc" || ending == ".icm") return Done{};
    return Error{Fault::bad_usage, path, "", "ends neither in .icc nor in .icm", "give a file name like photo.icc"};
}

/// Before any work: every name is one that can be written, none is the photo, none is named twice.
Result<Done> can_write(const CorrectRequest& request) {
    if (!request.out.empty()) {
        if (const auto can = can_save_corrected(request.out, request.photo.file, request.options); !can) return can.error();
    }
    if (!request.profile.empty()) {
        if (const auto can = can_save_profile(request.profile); !can) return can.error();
    }
    if (!request.report.empty()) {
        if (const auto can = can_save_report_picture(request.report); !can) return can.error();
    }
    const std::array<const std::string*, 3> files{&request.out, &request.profile, &request.report};
    for (std::size_t i = 0; i < files.size(); ++i) {
        if (files[i]->empty()) continue;
        std::error_code problem;
        if (fs::equivalent(*files[i], request.photo.file, problem) && !problem)
            return Error{Fault::bad_usage, *files[i], "", "is the photo itself, which is never written over", "choose another name"};
        for (std::size_t j = 0; j < i; ++j) {
            if (!files[j]->empty() && fs::weakly_canonical(*files[i], problem) == fs::weakly_canonical(*files[j], problem))
                return Error{Fault::bad_usage, *files[i], "", "is named twice", "give each its own name"};
        }
    }
    return Done{};
}

}  // namespace

Result<Answer> run(const CorrectRequest& request) {
    if (const auto can = can_write(request); !can) return can.error();
    const auto photo = open_photo(request.photo, request.options.observer);
    if (!photo) return photo.error();
    // what can fail for the photo's sake comes before anything is written
    std::vector<std::uint8_t> profile;
    if (!request.profile.empty()) {
        auto made = input_profile(*photo->photo, photo->calibration);
        if (!made) return in_file(made.error(), request.photo.file);
        profile = *std::move(made);
    }
    std::optional<SavedPicture> saved;
    if (!request.out.empty()) {
        const auto picture = save_corrected(*photo->photo, photo->calibration, request.out, request.options);
        if (!picture) return picture.error();
        saved = *picture;
    }
    if (!request.profile.empty()) {
        const auto written = write_file(request.profile, std::string_view(reinterpret_cast<const char*>(profile.data()), profile.size()));
        if (!written) return written.error();
    }
    if (!request.report.empty()) {
        const auto drawn = save_report_picture(*photo->photo, photo->calibration, request.report);
        if (!drawn) return drawn.error();
    }
    return Answer{request.json ? correct_json(request, *photo, saved) : correct_report(request, *photo, saved), {}, kDone};
}

}  // namespace sw
