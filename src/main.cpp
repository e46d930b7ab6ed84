#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include "cli/cli.hpp"
#ifdef SW_WINDOW
#include "cli/exit_code.hpp"
#include "viewer/viewer.hpp"
#endif

int main(int argc, char** argv) {
    std::vector<std::string> arguments(argv + 1, argv + argc);
    if (!sw::wants_window(arguments)) return sw::run_command(arguments, std::cout, std::cerr);
#ifdef SW_WINDOW
    if (!arguments.empty()) arguments.erase(arguments.begin());
    const std::optional<sw::Fault> fault = sw::run_window(arguments, std::cerr);
    return fault ? sw::exit_code(*fault) : sw::kDone;
#else
    std::cerr << "swatchwright: built without the window; see `swatchwright --help` for the commands\n";
    return 2;
#endif
}
