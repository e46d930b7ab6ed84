// The monitor's profile and what was copied, handed out by an X server, where there is one; paths in text.
#include "viewer/desktop.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <thread>

#include <X11/Xatom.h>
#include <X11/Xlib.h>

namespace sw::window {
namespace {

struct Server {
    Display* display = XOpenDisplay(nullptr);
    Server() = default;
    Server(const Server&) = delete;
    Server& operator=(const Server&) = delete;
    ~Server() {
        if (display != nullptr) XCloseDisplay(display);
    }
};

// "ICC Profiles in X": the property of the root window, format 8.
TEST(Desktop, HandsOutTheMonitorsProfile) {
    const Server server;
    if (server.display == nullptr) GTEST_SKIP() << "no display here";
    std::vector<std::uint8_t> profile(3000);
    for (std::size_t i = 0; i < profile.size(); ++i) profile[i] = static_cast<std::uint8_t>(i * 7);
    const Atom name = XInternAtom(server.display, "_ICC_PROFILE", False);
    const Window root = DefaultRootWindow(server.display);
    XChangeProperty(server.display, root, name, XA_CARDINAL, 8, PropModeReplace, profile.data(), static_cast<int>(profile.size()));
    XSync(server.display, False);
    EXPECT_EQ(desktop_profile(), profile);
    XDeleteProperty(server.display, root, name);
    XSync(server.display, False);
    EXPECT_TRUE(desktop_profile().empty());
}

/// A program that others copy from: offers one type, gives it whole or in pieces (ICCCM 2.0, 2.7.2).
class Holder {
public:
    Holder(std::string type, std::string bytes, bool pieces) : type_(std::move(type)), bytes_(std::move(bytes)), pieces_(pieces) {
        thread_ = std::jthread([this](const std::stop_token& stop) { serve(stop); });
        while (!ready_) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }

private:
    void serve(const std::stop_token& stop) {
        const Server server;
        Display* d = server.display;
        const Window window = XCreateSimpleWindow(d, DefaultRootWindow(d), 0, 0, 1, 1, 0, 0, 0);
        const Atom clipboard = XInternAtom(d, "CLIPBOARD", False), targets = XInternAtom(d, "TARGETS", False),
                   type = XInternAtom(d, type_.c_str(), False);
        XSetSelectionOwner(d, clipboard, window, CurrentTime);
        XSync(d, False);
        ready_ = true;
        Window to = None;
        Atom into = None;
        std::size_t given = 0;
        while (!stop.stop_requested()) {
            if (XPending(d) == 0) {
                std::this_thread::sleep_for(std::chrono::milliseconds(1));
                continue;
            }
            XEvent event;
            XNextEvent(d, &event);
            if (event.type == PropertyNotify && event.xproperty.window == to && event.xproperty.state == PropertyDelete) {
                const std::size_t size = std::min<std::size_t>(50'000, bytes_.size() - given);
                XChangeProperty(d, to, into, type, 8, PropModeReplace, reinterpret_cast<const unsigned char*>(bytes_.data() + given),
                                static_cast<int>(size));
                given += size;
                if (size == 0) to = None;
                continue;
            }
            if (event.type != SelectionRequest) continue;
            const XSelectionRequestEvent& asked = event.xselectionrequest;
            XEvent answer{};
            answer.xselection = {SelectionNotify, 0, False, d, asked.requestor, asked.selection, asked.target, asked.property, asked.time};
            if (asked.target == targets) {
                const std::array<Atom, 2> all{targets, type};
                XChangeProperty(d, asked.requestor, asked.property, XA_ATOM, 32, PropModeReplace, reinterpret_cast<const unsigned char*>(all.data()),
                                2);
            } else if (asked.target == type && pieces_) {
                to = asked.requestor;
                into = asked.property;
                XSelectInput(d, to, PropertyChangeMask);
                const long size = static_cast<long>(bytes_.size());
                XChangeProperty(d, to, into, XInternAtom(d, "INCR", False), 32, PropModeReplace, reinterpret_cast<const unsigned char*>(&size), 1);
            } else if (asked.target == type) {
                XChangeProperty(d, asked.requestor, asked.property, type, 8, PropModeReplace, reinterpret_cast<const unsigned char*>(bytes_.data()),
                                static_cast<int>(bytes_.size()));
            } else {
                answer.xselection.property = None;
            }
            XSendEvent(d, asked.requestor, False, 0, &answer);
            XFlush(d);
        }
    }
    std::string type_, bytes_;
    bool pieces_;
    std::atomic<bool> ready_{false};
    std::jthread thread_;
};

TEST(Desktop, GivesWhatWasCopied) {
    {
        const Server server;
        if (server.display == nullptr) GTEST_SKIP() << "no display here";
    }
    std::string picture = "\x89PNG";
    for (int i = 0; i < 300'000; ++i) picture += static_cast<char>(i * 7);
    for (const bool pieces : {false, true}) {
        const Holder holder("image/png", pieces ? picture : picture.substr(0, 4000), pieces);
        const Copied got = copied();
        EXPECT_EQ(got.kind, Copied::Kind::picture);
        EXPECT_EQ(got.bytes, pieces ? picture : picture.substr(0, 4000));
    }
    const Holder holder("text/uri-list", "file:///bench/my%20photo.jpg\r\n", false);
    const Copied got = copied();
    EXPECT_EQ(got.kind, Copied::Kind::text);
    EXPECT_EQ(path_in(got.bytes), "/bench/my photo.jpg");
    const Holder odd("application/x-anything", "?", false);
    EXPECT_EQ(copied().kind, Copied::Kind::nothing);
}

// RFC 8089 and RFC 3986, 2.1.
TEST(Desktop, FindsThePathInText) {
    EXPECT_EQ(path_in("/bench/a b.jpg"), "/bench/a b.jpg");
    EXPECT_EQ(path_in("  /bench/a.jpg \n/bench/b.jpg"), "/bench/a.jpg");
    EXPECT_EQ(path_in("file:///bench/K%C3%A4sten%20%25.png"), "/bench/Kästen %.png");
    EXPECT_EQ(path_in("file://localhost/a.png"), "/a.png");
    for (const char* none : {"", "\n", "photo.jpg", "https://example.org/a.png", "file://", "file:///a%2", "file:///a%zz", "file:///a%00b"})
        EXPECT_FALSE(path_in(none)) << none;
}

}  // namespace
}  // namespace sw::window
