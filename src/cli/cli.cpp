#include "cli/cli.hpp"

#include <cerrno>
#include <csignal>
#include <exception>
#include <new>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/exit_code.hpp"
#include "cli/text.hpp"

namespace sw {
namespace {

// A reader that went away (a closed pipe) must show as a failed write, not end the process in the middle.
class NoBrokenPipeSignal {
public:
    NoBrokenPipeSignal() : before_(std::signal(SIGPIPE, SIG_IGN)) {}
    NoBrokenPipeSignal(const NoBrokenPipeSignal&) = delete;
    NoBrokenPipeSignal& operator=(const NoBrokenPipeSignal&) = delete;
    ~NoBrokenPipeSignal() {
        if (before_ != SIG_ERR) std::signal(SIGPIPE, before_);
    }

private:
    void (*before_)(int);
};

Result<Answer> answer(const std::vector<std::string>& arguments) {
    const auto request = parse_command_line(arguments);
    if (!request) return request.error();
    return std::visit([](const auto& asked) { return run(asked); }, *request);
}

int fail(const Error& error, std::ostream& err) {
    err << "swatchwright: " << printable(describe(error)) << '\n' << std::flush;
    return exit_code(error.fault);
}

}  // namespace

Result<Answer> run(const HelpRequest& request) { return Answer{request.text, {}, kDone}; }

bool wants_window(const std::vector<std::string>& arguments) { return arguments.empty() || arguments.front() == "window"; }

int run_command(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err) {
    const NoBrokenPipeSignal quiet;
    try {
        const auto answered = answer(arguments);
        if (!answered) return fail(answered.error(), err);
        // all at once, and only when all is known: an error leaves standard output empty
        errno = 0;
        out << answered->text << std::flush;
        const bool reader_left = !out && errno == EPIPE;  // as in `... | head`: the reader has enough, so no words about it
        for (const std::string& message : answered->messages) err << "swatchwright: " << printable(message) << '\n';
        err << std::flush;
        if (reader_left) return kInternalError;
        if (!out) return fail(Error{Fault::internal, "", "standard output", "could not be written", "see that the disk is not full"}, err);
        return answered->exit_code;
    } catch (const std::bad_alloc&) {
        return fail(Error{Fault::internal, "", "", "out of memory", "close other programs or use a smaller picture"}, err);
    } catch (const std::exception& problem) {
        return fail(Error{Fault::internal, "", "", std::string("our mistake: ") + problem.what(), "please report it with the command you typed"},
                    err);
    }
}

}  // namespace sw
