#include "viewer/background.hpp"

#include <exception>

namespace sw::window {

Background::~Background() {
    thread_.request_stop();
    if (thread_.joinable()) thread_.join();
}

void Background::post(Update update) {
    {
        const std::lock_guard lock(mutex_);
        mailbox_.push_back(std::move(update));
    }
    if (wake_) wake_();
}

void Background::report(const std::string& stage, std::optional<float> share) {
    bool tell = false;
    {
        const std::lock_guard lock(mutex_);
        tell = progress_.stage != stage || !share || !progress_.share || *share - *progress_.share > 0.02F;
        if (tell) {
            progress_.stage = stage;
            progress_.share = share;
        }
    }
    if (tell && wake_) wake_();
}

void Background::start(const Work& work, const Results& have) {
    assert(!busy());
    if (thread_.joinable()) thread_.join();  // has ended already
    running_ = true;
    report("Starting", std::nullopt);
    thread_ = std::jthread([this, work, have](std::stop_token stop) {
        const auto failed = [&](const std::string& what) {
            const Error error{.fault = Fault::internal,
                              .file = work.photo,
                              .place = {},
                              .cause = "something went wrong inside the program: " + what,
                              .remedy = "your work is kept; try again, and report it if it stays"};
            // Which stage it was is not known: the first one that is missing must not be tried for ever.
            if (have.photo_key == photo_key(work) && have.photo) {
                post(CalibrationUpdate{calibration_key(work), error});
            } else {
                post(PhotoUpdate{photo_key(work), error, nullptr});
            }
        };
        try {
            derive(
                work, have, stop, [this](const std::string& stage, std::optional<float> share) { report(stage, share); },
                [this](Update update) { post(std::move(update)); });
        } catch (const std::exception& e) {
            failed(e.what());
        } catch (...) {
            failed("unknown");
        }
        running_ = false;
        if (wake_) wake_();
    });
}

void Background::cancel() { thread_.request_stop(); }

Progress Background::progress() const {
    const std::lock_guard lock(mutex_);
    Progress progress = progress_;
    progress.busy = busy();
    return progress;
}

std::vector<Update> Background::take() {
    const std::lock_guard lock(mutex_);
    return std::exchange(mailbox_, {});
}

}  // namespace sw::window
