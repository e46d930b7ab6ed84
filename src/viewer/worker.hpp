// One piece of work off the frame at a time: progress, cancel, results by mailbox. The frame never waits for it.
#pragma once

#include <atomic>
#include <cassert>
#include <exception>
#include <functional>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <thread>
#include <utility>
#include <vector>

namespace sw::window {

struct Progress {
    bool busy = false;
    std::string stage;
    std::optional<float> share;
};

/// How far a piece of work is: its name for people and a share 0..1, or nothing where it cannot say.
using Report = std::function<void(const std::string& stage, std::optional<float> share)>;

template <class Item>
class Worker {
public:
    using Post = std::function<void(Item)>;
    using Job = std::function<void(std::stop_token, const Report&, const Post&)>;

    /// wake is called from the other thread whenever there is something to look at; must be safe to call from any thread.
    explicit Worker(std::function<void()> wake = {}) : wake_(std::move(wake)) {}
    /// Asks what runs to stop and waits for it: the only place that waits, at the end of the program.
    ~Worker() {
        thread_.request_stop();
        if (thread_.joinable()) thread_.join();
    }
    Worker(const Worker&) = delete;
    Worker& operator=(const Worker&) = delete;

    /// True while something runs, also when it was asked to stop and has not yet.
    [[nodiscard]] bool busy() const { return running_.load(); }
    /// Only when not busy. No exception leaves the thread: `failed` makes an item for the mailbox of its words.
    void start(const std::string& stage, Job job, std::function<Item(const std::string&)> failed) {
        assert(!busy());
        if (thread_.joinable()) thread_.join();  // has ended already
        running_ = true;
        report(stage, std::nullopt);
        thread_ = std::jthread([this, job = std::move(job), failed = std::move(failed)](std::stop_token stop) {
            try {
                job(
                    stop, [this](const std::string& what, std::optional<float> share) { report(what, share); },
                    [this](Item item) { post(std::move(item)); });
            } catch (const std::exception& e) {
                post(failed(e.what()));
            } catch (...) {
                post(failed("unknown"));
            }
            running_ = false;
            if (wake_) wake_();
        });
    }
    void cancel() { thread_.request_stop(); }
    [[nodiscard]] Progress progress() const {
        const std::lock_guard lock(mutex_);
        Progress progress = progress_;
        progress.busy = busy();
        return progress;
    }
    /// What has come since the last call.
    [[nodiscard]] std::vector<Item> take() {
        const std::lock_guard lock(mutex_);
        return std::exchange(mailbox_, {});
    }

private:
    void post(Item item) {
        {
            const std::lock_guard lock(mutex_);
            mailbox_.push_back(std::move(item));
        }
        if (wake_) wake_();
    }
    void report(const std::string& stage, std::optional<float> share) {
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

    std::function<void()> wake_;
    std::atomic<bool> running_{false};
    mutable std::mutex mutex_;
    std::vector<Item> mailbox_;
    Progress progress_;
    std::jthread thread_;
};

}  // namespace sw::window
