// All of it together: work, history, results, workbook, view. No ImGui, no GL: the window and the tests drive it alike.
#pragma once

#include <chrono>
#include <cstdlib>

#include "viewer/background.hpp"
#include "viewer/book.hpp"
#include "viewer/commands.hpp"
#include "viewer/desktop.hpp"
#include "viewer/file_dialog.hpp"
#include "viewer/folder.hpp"
#include "viewer/pot_view.hpp"

namespace sw::window {

/// Something the user should read; stays until dismissed.
struct Message {
    Error error;
};

class Desk {
public:
    /// wake: see Background. workbook may be missing; then nothing can be kept and a message says why.
    explicit Desk(const std::function<void()>& wake = {})
        : background_(wake), finder_(wake), jobs_(wake), asker_(wake), mapper_(wake), folders_(wake), paster_(wake), mixer_(wake) {}

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
    /// True while anything runs or is about to: that, a search, a map, a job on files.
    [[nodiscard]] bool working() const {
        return busy() || finder_.busy() || jobs_.busy() || mapper_.busy() || paster_.busy() || folders_.busy() || mixer_.busy() || advice_due() ||
               search_due() || map_due();
    }
    /// Gives up what runs; it is tried again only after the next change.
    void cancel();
    /// Draws the light ladder as it is judged now, for sRGB; no step of the history. file: as SaveLadder has it. An error becomes a message.
    void save_ladder(const std::string& file);
    /// Starts a job on files, off the frame. False, with a message, where one is under way or no workbook is open.
    bool begin(const FileJob&);
    /// Opens the desktop's dialog, if it has one; the photo that is chosen there is opened.
    void browse();
    /// True where the desktop has a dialog.
    [[nodiscard]] bool can_browse() const { return helper_.has_value(); }
    /// Writes what was done since the start as a script; undo and redo are in it. No step of the history. An error becomes a message.
    void save_script(const std::string& file);
    /// Picks what has the name (of a reading: its number) in the list that is shown. False, with a message, where there is none.
    bool pick(const std::string& name);
    /// Reads the photo again from its file; the work stays.
    void reload_photo();
    /// The file has another time or size than when it was read.
    [[nodiscard]] bool photo_changed() const { return photo_changed_; }
    /// Opens what was copied elsewhere: a file, or a picture, which is kept beside the workbook first (folder "grabs"), for readings name their
    /// photo.
    void paste();
    /// Opens the picture `steps` further in the folder; nothing happens at its ends.
    void open_beside(int steps);
    /// What is shown under the picture.
    [[nodiscard]] const PhotoFolder& folder() const { return folder_; }
    void complain(Error error) { messages.push_back({std::move(error)}); }

    [[nodiscard]] const Work& work() const { return work_; }
    [[nodiscard]] const Results& results() const { return results_; }
    [[nodiscard]] const Shelf& shelf() const { return shelf_; }
    [[nodiscard]] const History& history() const { return history_; }
    [[nodiscard]] Progress progress() const {
        return jobs_.busy()                             ? jobs_.progress()
               : paster_.busy()                         ? paster_.progress()
               : mixer_.busy() && !background_.busy()   ? mixer_.progress()
               : folders_.busy() && !background_.busy() ? folders_.progress()
                                                        : background_.progress();
    }
    /// What the list of the workbook's page shows now: made anew only where list, order, rows or what was found are others. Good until then.
    [[nodiscard]] const std::vector<BookLine>& lines() const;
    /// The swatch place by place, if it is shown and belongs to the work as it is.
    [[nodiscard]] const SurfaceMap* surface() const;
    /// What to add to the pot that is picked, if that is known for the rows as they are.
    [[nodiscard]] const PotAdvice* advice() const;
    /// What the last job said; empty once something else is done.
    [[nodiscard]] const JobDone& told() const { return told_; }
    [[nodiscard]] bool can_undo() const { return history_.can_undo() || shelf_.earlier; }
    [[nodiscard]] std::string workbook_path() const { return workbook_ ? workbook_->path().string() : ""; }
    /// True when the figures belong to the work as it is now.
    [[nodiscard]] bool match_current() const { return results_.match_key == match_key(work_); }

    View view;
    std::vector<Message> messages;
    std::vector<std::string> recent;  // photos that were opened, the last one first

private:
    void reload_shelf();
    void follow_change();
    void look_for_earlier();  // Shelf::earlier
    bool look_outside();
    [[nodiscard]] bool pump_book();
    [[nodiscard]] bool pump_map();
    [[nodiscard]] bool pump_folder();
    [[nodiscard]] bool pump_pot();
    [[nodiscard]] std::string advice_key() const;  // of what is to be shown; empty: nothing
    [[nodiscard]] bool advice_due() const { return !advice_key().empty() && advice_key() != advice_.key; }
    void open_copied(const Copied&);
    [[nodiscard]] const Target* map_target() const;
    [[nodiscard]] bool map_due() const;  // is to be shown, can be made, and is not there for the work as it is
    [[nodiscard]] std::string search_key() const;
    [[nodiscard]] bool search_due() const { return search_key() != hits_key_; }
    void take_in(const std::shared_ptr<const Exchange>& incoming, const std::string& sentence);
    void after_change();
    [[nodiscard]] Work wanted() const;
    [[nodiscard]] Workbook* workbook() { return workbook_ ? &*workbook_ : nullptr; }

    struct FileStamp {
        std::string file;
        std::filesystem::file_time_type time{};
        std::uintmax_t size = 0;
        friend bool operator==(const FileStamp&, const FileStamp&) = default;
    };
    [[nodiscard]] static std::optional<FileStamp> stamp_of(const std::string& file);

    /// A folder's pictures, or one small picture of them.
    struct FolderNews {
        std::string folder;
        std::optional<std::vector<std::string>> list;
        std::string path;
        std::shared_ptr<const Preview> preview;
    };
    struct Found {
        std::string key;
        std::optional<Hits> hits;
        std::optional<Error> error;
    };

    Work work_;
    Results results_;
    Shelf shelf_;
    History history_;
    std::optional<Workbook> workbook_;
    std::optional<OpenPhoto> opening_;
    std::string halted_;        // match key that the user cancelled
    std::string started_;       // match key of what runs
    std::int64_t outside_ = 0;  // Workbook::outside_version as of the shelf
    std::chrono::steady_clock::time_point looked_outside_{};
    std::optional<Hits> hits_;
    std::string hits_key_;
    std::string recorded_;  // lines of a script
    mutable std::string lines_key_;
    mutable std::vector<BookLine> lines_;
    JobDone told_;
    Background background_;
    Worker<Found> finder_;
    Worker<JobDone> jobs_;
    Worker<Result<std::string>> asker_;
    Worker<SurfaceMap> mapper_;
    SurfaceMap surface_;
    Worker<FolderNews> folders_;
    PhotoFolder folder_;
    Worker<Copied> paster_;
    Worker<PotAdvice> mixer_;
    PotAdvice advice_;
    std::string mixing_;                              // key of what is being worked out
    std::optional<FileStamp> stamp_, reading_stamp_;  // of the file of the photo that is shown, and of the one being read, when reading it began
    bool folder_halted_ = false;                      // the user gave the small pictures up
    std::size_t folder_halted_at_ = 0;                // strip_first then
    bool photo_changed_ = false;
    std::optional<std::string> helper_ = dialog_helper(std::getenv("PATH") != nullptr ? std::getenv("PATH") : "");
};

}  // namespace sw::window
