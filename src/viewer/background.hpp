// One piece of work off the frame at a time: progress, cancel, results by mailbox. The frame never waits for it.
#pragma once

#include <atomic>
#include <functional>
#include <mutex>
#include <thread>

#include "viewer/derive.hpp"

namespace sw::window {

struct Progress {
    bool busy = false;
    std::string stage;
    std::optional<float> share;
};

class Background {
public:
    /// wake is called from the other thread whenever there is something to look at; must be safe to call from any thread.
    explicit Background(std::function<void()> wake = {}) : wake_(std::move(wake)) {}
    /// Asks what runs to stop and waits for it: the only place that waits, at the end of the program.
    ~Background();
    Background(const Background&) = delete;
    Background& operator=(const Background&) = delete;

    /// True while something runs, also when it was asked to stop and has not yet.
    [[nodiscard]] bool busy() const { return running_.load(); }
    /// Starts deriving from a snapshot. Only when not busy. No exception leaves the thread: it becomes an Error in the mailbox.
    void start(const Work& work, const Results& have);
    void cancel();
    [[nodiscard]] Progress progress() const;
    /// What has come since the last call.
    [[nodiscard]] std::vector<Update> take();

private:
    void post(Update update);
    void report(const std::string& stage, std::optional<float> share);

    std::function<void()> wake_;
    std::atomic<bool> running_{false};
    mutable std::mutex mutex_;
    std::vector<Update> mailbox_;
    Progress progress_;
    std::jthread thread_;
};

}  // namespace sw::window
