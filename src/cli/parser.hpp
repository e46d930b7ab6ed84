// What the readers of the command line share: a command's options as text, then one by one as values.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/request.hpp"

namespace CLI {
class App;
}

namespace sw::args {

using Texts = std::vector<std::string>;

struct CommandText {
    std::string_view name, purpose, usage, footer;
};
[[nodiscard]] const CommandText* find_command(std::string_view name);  // null: none

inline constexpr std::string_view kPhotoCaution =
    "A photo's figures are no substitute for an instrument where a contract or a safety color depends on them.\n";

[[nodiscard]] Error usage(const std::string& place, std::string cause, std::string remedy);

/// One command's options, all as text, any number of times; what each means is read afterwards.
class Parser {
public:
    Parser(std::string_view name, bool regions, bool lights);
    ~Parser();
    Parser(const Parser&) = delete;
    Parser& operator=(const Parser&) = delete;

    void positional(const std::string& name, Texts& values, const std::string& description);
    /// The words that are no options, any number of them.
    void positionals(const std::string& name, Texts& values, const std::string& description);
    void option(const std::string& name, const std::string& type, Texts& values, const std::string& description);
    void flag(const std::string& name, bool& value, const std::string& description);
    /// Nothing, or help, or what is wrong.
    [[nodiscard]] Result<std::optional<HelpRequest>> parse(Texts arguments);
    /// Marks values as those of an option that may be given only once.
    void once(const std::string& option, const Texts& values) { singles_.emplace_back(option, &values); }
    [[nodiscard]] std::string name() const { return std::string(command_.name); }
    [[nodiscard]] std::string see() const { return "see swatchwright " + name() + " --help"; }

private:
    void add(const std::string& name, Texts& values, const std::string& type, const std::string& description);

    const CommandText& command_;
    std::unique_ptr<CLI::App> app_;
    std::vector<std::pair<std::string, const Texts*>> singles_;
};

[[nodiscard]] Result<std::filesystem::path> workbook_of(const Texts& texts);
[[nodiscard]] std::string workbook_help();

/// The options that say how a photo is to be read.
struct PhotoOptions {
    Texts gray, chart, edition, known, card, setup, workbook, transfer, lit_by, flat, plain;

    // calibrate makes set-ups and takes none
    void add_to(Parser& parser, bool with_setup = true);
    [[nodiscard]] bool any() const {
        return !(gray.empty() && chart.empty() && edition.empty() && known.empty() && card.empty() && setup.empty() && lit_by.empty() &&
                 flat.empty() && plain.empty());
    }
};
/// The options that say how a list is told.
struct ListOptions {
    Texts sort, near, within, since;

    void add_to(Parser& parser, const std::string& usual);
    [[nodiscard]] bool any() const { return !(sort.empty() && near.empty() && within.empty() && since.empty()); }
};
inline constexpr double kAnyDistance = 1000;                     // CIEDE2000 above all there are
[[nodiscard]] Result<std::string> since_of(const Texts& texts);  // a day; empty if not given
/// within: how far where it is not said.
[[nodiscard]] Result<ListRequest> list_of(const ListOptions& options, double within);

[[nodiscard]] Result<PhotoRequest> photo_of(const std::string& file, const PhotoOptions& options);

/// A LIGHT, or a lamp's name in the workbook (if not said: the default one, where it is).
[[nodiscard]] Result<Light> light_of(const std::string& text, const std::string& option, const Texts& workbook = {});
[[nodiscard]] Light standard_light(const char* name);
[[nodiscard]] Result<std::vector<Light>> lights_of(const Texts& texts, const std::string& option, const Texts& workbook = {});
/// The one light of --under, D50 if it is not given.
[[nodiscard]] Result<Light> one_light_of(const Texts& texts, const Texts& workbook = {});
[[nodiscard]] Result<Observer> observer_of(const Texts& texts);
/// A number of an option, above 0 and up to `most`.
[[nodiscard]] Result<double> number_of(const Texts& texts, const std::string& option, double otherwise, double most);
[[nodiscard]] Result<Transfer> transfer_of(const Texts& texts);
[[nodiscard]] Result<Region> region_of(const std::string& text, const std::string& role);

/// The file of --workbook into what is asked.
template <class Asked>
Result<Done> name_workbook(Asked& request, const Texts& workbook) {
    auto file = workbook_of(workbook);
    if (!file) return file.error();
    request.workbook = *std::move(file);
    if constexpr (requires { request.workbook_given; }) request.workbook_given = !workbook.empty();
    return Done{};
}
/// The same, as the end of reading a command line.
template <class Asked>
Result<Request> in_workbook(Asked request, const Texts& workbook) {
    if (const auto named = name_workbook(request, workbook); !named) return named.error();
    return Request{std::move(request)};
}

// ACTION, NAME and --workbook of the commands about what a workbook keeps.
template <class Kept>
Result<Done> kept_of(Kept& request, const std::string& what, bool add, const Texts& action, const Texts& name, const Texts& workbook) {
    const std::string actions = "write swatchwright " + what + (add ? " add, list, show or remove" : " list, show or remove");
    if (action.empty()) return usage(what, "says not what to do", actions);
    if (action[0] == "add" && add) {
        request.action = TargetAction::add;
    } else if (action[0] == "list") {
        request.action = TargetAction::list;
    } else if (action[0] == "show") {
        request.action = TargetAction::show;
    } else if (action[0] == "remove") {
        request.action = TargetAction::remove;
    } else {
        return usage(what + " \"" + action[0] + "\"", "is not something a " + what + " can do", actions);
    }
    if (request.action == TargetAction::list ? !name.empty() : name.empty()) {
        return usage(
            what + " " + action[0], name.empty() ? "needs the " + what + "'s name" : "takes no name",
            name.empty() ? "write swatchwright " + what + " " + action[0] + " NAME" : "write swatchwright " + what + " show NAME for one " + what);
    }
    if (!name.empty()) request.name = name[0];
    return name_workbook(request, workbook);
}

}  // namespace sw::args
