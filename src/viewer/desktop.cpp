#include "viewer/desktop.hpp"

#include <X11/Xatom.h>
#include <X11/Xlib.h>
#include <poll.h>

#include <algorithm>
#include <chrono>
#include <cstring>
#include <memory>

namespace sw::window {
namespace {

constexpr std::size_t kMostBytes = 512U << 20U;

struct Closer {
    void operator()(Display* display) const { XCloseDisplay(display); }
};
using Connection = std::unique_ptr<Display, Closer>;

struct Property {
    Atom type = None;
    int format = 0;
    std::string bytes;
};

/// Xlib gives values of 32 bits as longs; here each is one of sizeof(long).
Property property(Display* display, Window window, Atom name, bool remove) {
    Property all;
    for (long offset = 0;;) {
        unsigned long count = 0, left = 0;
        unsigned char* data = nullptr;
        constexpr long kWords = 1 << 18;
        if (XGetWindowProperty(display, window, name, offset, kWords, False, AnyPropertyType, &all.type, &all.format, &count, &left, &data) !=
            Success)
            break;
        const std::size_t size = all.format == 32 ? sizeof(long) : static_cast<std::size_t>(all.format) / 8;
        if (data != nullptr) {
            all.bytes.append(reinterpret_cast<const char*>(data), count * size);
            XFree(data);
        }
        offset += kWords;
        if (left == 0 || count == 0 || all.bytes.size() > kMostBytes) break;
    }
    if (remove) XDeleteProperty(display, window, name);
    return all;
}

class Selection {
public:
    Selection(Display* display, std::stop_token stop)
        : display_(display),
          stop_(std::move(stop)),
          window_(XCreateSimpleWindow(display, DefaultRootWindow(display), 0, 0, 1, 1, 0, 0, 0)),
          clipboard_(atom("CLIPBOARD")),
          into_(atom("SWATCHWRIGHT_COPIED")),
          in_pieces_(atom("INCR")) {
        XSelectInput(display, window_, PropertyChangeMask);
    }
    Selection(const Selection&) = delete;
    Selection& operator=(const Selection&) = delete;
    ~Selection() { XDestroyWindow(display_, window_); }

    [[nodiscard]] Atom atom(const char* name) const { return XInternAtom(display_, name, False); }
    [[nodiscard]] bool held() const { return XGetSelectionOwner(display_, clipboard_) != None; }

    /// As the type asked for; nothing where its holder cannot give it so, or does not answer.
    std::optional<Property> as(Atom type) {
        end_ = std::chrono::steady_clock::now() + std::chrono::seconds(3);
        XConvertSelection(display_, clipboard_, type, into_, window_, CurrentTime);
        XEvent event;
        if (!wait(event, [&] { return event.type == SelectionNotify; }) || event.xselection.property == None) return std::nullopt;
        Property got = property(display_, window_, into_, true);
        if (got.type != in_pieces_) return got;
        got = {};
        while (true) {  // a piece each time the property is set anew; an empty one ends it
            if (!wait(event,
                      [&] { return event.type == PropertyNotify && event.xproperty.atom == into_ && event.xproperty.state == PropertyNewValue; }))
                return std::nullopt;
            const Property piece = property(display_, window_, into_, true);
            if (piece.bytes.empty()) return got;
            got.type = piece.type;
            got.bytes += piece.bytes;
            if (got.bytes.size() > kMostBytes) return std::nullopt;
        }
    }

private:
    template <class Wanted>
    bool wait(XEvent& event, const Wanted& wanted) {
        XFlush(display_);
        while (!stop_.stop_requested()) {
            while (XPending(display_) > 0) {
                XNextEvent(display_, &event);
                if (wanted()) return true;
            }
            if (std::chrono::steady_clock::now() > end_) return false;
            pollfd ready{ConnectionNumber(display_), POLLIN, 0};
            poll(&ready, 1, 50);
        }
        return false;
    }

    Display* display_;
    std::stop_token stop_;
    Window window_;
    Atom clipboard_, into_, in_pieces_;
    std::chrono::steady_clock::time_point end_;
};

}  // namespace

std::vector<std::uint8_t> desktop_profile() {
    const Connection display(XOpenDisplay(nullptr));
    if (!display) return {};
    const Atom name = XInternAtom(display.get(), "_ICC_PROFILE", True);
    if (name == None) return {};
    const Property found = property(display.get(), DefaultRootWindow(display.get()), name, false);
    if (found.format != 8) return {};
    return {found.bytes.begin(), found.bytes.end()};
}

Copied copied(const std::stop_token& stop) {
    const Connection display(XOpenDisplay(nullptr));
    if (!display) return {};
    Selection selection(display.get(), stop);
    if (!selection.held()) return {};
    const auto offered = selection.as(selection.atom("TARGETS"));
    const auto offers = [&](const char* type) {
        if (!offered) return false;
        const Atom wanted = selection.atom(type);
        for (std::size_t at = 0; at + sizeof(long) <= offered->bytes.size(); at += sizeof(long)) {
            long value = 0;
            std::memcpy(&value, offered->bytes.data() + at, sizeof(long));
            if (static_cast<Atom>(value) == wanted) return true;
        }
        return false;
    };
    // Files first: programs that copy a file often offer a small picture of it too.
    for (const char* type : {"text/uri-list", "image/png", "image/tiff", "image/jpeg", "image/webp", "UTF8_STRING", "STRING"}) {
        if (!offers(type)) continue;
        const auto got = selection.as(selection.atom(type));
        if (!got || got->bytes.empty()) continue;
        return {std::string(type).starts_with("image/") ? Copied::Kind::picture : Copied::Kind::text, got->bytes};
    }
    return {};
}

std::optional<std::string> path_in(const std::string& text) {
    const std::size_t start = text.find_first_not_of(" \t\r\n");
    if (start == std::string::npos) return std::nullopt;
    std::string line = text.substr(start, text.find_first_of("\r\n", start) - start);
    while (!line.empty() && (line.back() == ' ' || line.back() == '\0')) line.pop_back();
    if (line.starts_with("/")) return line;
    constexpr const char* kScheme = "file://";
    if (!line.starts_with(kScheme)) return std::nullopt;
    const std::size_t slash = line.find('/', std::strlen(kScheme));  // a host, which can only be this one
    if (slash == std::string::npos) return std::nullopt;
    std::string path;
    const auto digit = [](char c) {
        return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
    };
    for (std::size_t i = slash; i < line.size(); ++i) {
        if (line[i] != '%') {
            path += line[i];
            continue;
        }
        if (i + 2 >= line.size() || digit(line[i + 1]) < 0 || digit(line[i + 2]) < 0) return std::nullopt;
        const int byte = 16 * digit(line[i + 1]) + digit(line[i + 2]);
        if (byte == 0) return std::nullopt;
        path += static_cast<char>(byte);
        i += 2;
    }
    return path;
}

}  // namespace sw::window
