// All of it together: work, history, results, workbook, view. No ImGui, no GL: the window and the tests drive it alike.
#pragma once

#include "viewer/background.hpp"
#include "viewer/commands.hpp"

namespace sw::window {

/// Something the user should read; stays until dismissed.
struct Message {
    Error error;
};

class Desk {
public:
    /// wake: see Background. workbook may be missing; then nothing can be kept and a message says why.
    explicit Desk(std::function<void()> wake = {}) : background_(std::move(wake)) {}

    /// Opens or makes the workbook; an error becomes a message.
    void open_workbook(const std::filesystem::path& path);

    /// Plans and applies. Opening a photo only begins here: it becomes a step when the photo has been read. Returns whether it was accepted.
    bool commit(const Command& command);
    void undo();
    void redo();
    /// Takes over what the background made, starts what is missing. Call once a frame. True if something changed.
    bool pump();
    /// True while figures on the screen may still change by themselves.
    [[nodiscard]] bool busy() const;
    /// Gives up what runs; it is tried again only after the next change.
    void cancel();
    /// Draws the light ladder as it is judged now, for sRGB; no step of the history. file: as SaveLadder has it. An error becomes a message.
    void save_ladder(const std::string& file);
    void complain(Error error) { messages.push_back({std::move(error)}); }

    [[nodiscard]] const Work& work() const { return work_; }
    [[nodiscard]] const Results& results() const { return results_; }
    [[nodiscard]] const Shelf& shelf() const { return shelf_; }
    [[nodiscard]] const History& history() const { return history_; }
    [[nodiscard]] Progress progress() const { return background_.progress(); }
    [[nodiscard]] std::string workbook_path() const { return workbook_ ? workbook_->path().string() : ""; }
    /// True when the figures belong to the work as it is now.
    [[nodiscard]] bool match_current() const { return results_.match_key == match_key(work_); }

    View view;
    std::vector<Message> messages;

private:
    void reload_shelf();
    void after_change();
    [[nodiscard]] Work wanted() const;

    Work work_;
    Results results_;
    Shelf shelf_;
    History history_;
    std::optional<Workbook> workbook_;
    std::optional<OpenPhoto> opening_;
    std::string halted_;   // match key that the user cancelled
    std::string started_;  // match key of what runs
    Background background_;
};

}  // namespace sw::window
