#include "viewer/background.hpp"

namespace sw::window {

void Background::derive_from(const Work& work, const Results& have, const OwnLights& own) {
    const auto failed = [work, have](const std::string& what) -> Update {
        const Error error{.fault = Fault::internal,
                          .file = work.photo,
                          .place = {},
                          .cause = "something went wrong inside the program: " + what,
                          .remedy = "your work is kept; try again, and report it if it stays"};
        // Which stage it was is not known: the first one that is missing must not be tried for ever.
        if (have.photo_key == photo_key(work) && have.photo) return CalibrationUpdate{calibration_key(work), error};
        return PhotoUpdate{photo_key(work), error, nullptr, nullptr};
    };
    start(
        "Starting", [work, have, own](std::stop_token stop, const Report& report, const Post& post) { derive(work, have, stop, report, post, own); },
        failed);
}

}  // namespace sw::window
