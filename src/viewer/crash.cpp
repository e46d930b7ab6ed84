#include "viewer/crash.hpp"

#include <execinfo.h>
#include <fcntl.h>
#include <link.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdint>
#include <cstring>

namespace sw::window {
namespace {

// A handler may touch nothing but what was prepared: these are filled before it is installed.
std::array<char, 4096> g_report_file{};
std::uintptr_t g_program_start = 0;

void put(int file, const char* text) { static_cast<void>(!write(file, text, std::strlen(text))); }

void put_number(int file, std::uintptr_t number, unsigned base) {
    std::array<char, 24> digits{};
    std::size_t at = digits.size() - 1;
    do {
        digits[--at] = "0123456789abcdef"[number % base];
        number /= base;
    } while (number != 0 && at > 0);
    put(file, &digits[at]);
}

void on_fault(int signal) {
    const int file = open(g_report_file.data(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (file >= 0) {
        put(file, "Swatchwright " SW_VERSION " ended by itself: signal ");
        put_number(file, static_cast<std::uintptr_t>(signal), 10);
        put(file, "\nPlaces in the program, the innermost first (others are in libraries):\n");
        std::array<void*, 48> places{};
        const int count = backtrace(places.data(), static_cast<int>(places.size()));
        for (int i = 0; i < count; ++i) {
            const auto place = reinterpret_cast<std::uintptr_t>(places[static_cast<std::size_t>(i)]);
            if (place < g_program_start || place - g_program_start > 0x40000000U) continue;
            put(file, "+0x");
            put_number(file, place - g_program_start, 16);
            put(file, "\n");
        }
        static_cast<void>(close(file));
    }
    std::signal(signal, SIG_DFL);
    static_cast<void>(raise(signal));
}

int first_object(dl_phdr_info* info, std::size_t, void* start) {
    *static_cast<std::uintptr_t*>(start) = info->dlpi_addr;  // the program itself comes first
    return 1;
}

}  // namespace

void report_faults_into(const std::filesystem::path& file) {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    const std::string name = file.string();
    if (name.size() + 1 > g_report_file.size()) return;
    std::memcpy(g_report_file.data(), name.c_str(), name.size() + 1);
    dl_iterate_phdr(first_object, &g_program_start);
    std::array<void*, 1> warm{};
    static_cast<void>(backtrace(warm.data(), 1));  // loads what it needs now, not in the handler
    for (const int signal : {SIGSEGV, SIGBUS, SIGILL, SIGFPE, SIGABRT}) std::signal(signal, on_fault);
}

std::optional<std::filesystem::path> take_fault_report(const std::filesystem::path& file) {
    std::error_code error;
    if (!std::filesystem::is_regular_file(file, error)) return std::nullopt;
    const std::filesystem::path aside = file.string() + ".last";
    std::filesystem::rename(file, aside, error);
    if (error) return std::nullopt;
    return aside;
}

}  // namespace sw::window
