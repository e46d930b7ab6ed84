#include "viewer/viewer.hpp"

#define GL_GLEXT_PROTOTYPES
#include <GL/glcorearb.h>
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <imgui.h>
#include <imgui/backends/imgui_impl_glfw.h>
#include <imgui/backends/imgui_impl_opengl3.h>

#include <algorithm>
#include <cfloat>
#include <cmath>
#include <deque>
#include <exception>
#include <fstream>
#include <iostream>
#include <iterator>
#include <thread>

#include "sheet/demo_folder.hpp"
#include "viewer/crash.hpp"
#include "viewer/desktop.hpp"
#include "viewer/display_gl.hpp"
#include "viewer/marking.hpp"
#include "viewer/options.hpp"
#include "viewer/panels.hpp"
#include "viewer/picture_gl.hpp"
#include "viewer/png.hpp"
#include "viewer/settings.hpp"
#include "viewer/shortcuts.hpp"
#include "viewer/timings.hpp"

namespace sw::window {
namespace {

// --- input --------------------------------------------------------------------------------------------------------------------------------

struct KeyEvent {
    std::string chord;
    bool released = false;
};

struct Input {
    std::vector<KeyEvent> keys;
    std::vector<std::string> dropped;
    std::vector<int> pressed;  // GLFW keys, since the last frame
    bool stirred = false;      // something came from the desktop since it was last asked
};

void stir(GLFWwindow* window) {
    if (auto* input = static_cast<Input*>(glfwGetWindowUserPointer(window))) input->stirred = true;
}

std::string key_name(int key, int scancode) {
    switch (key) {
        case GLFW_KEY_LEFT:
            return "left";
        case GLFW_KEY_RIGHT:
            return "right";
        case GLFW_KEY_UP:
            return "up";
        case GLFW_KEY_DOWN:
            return "down";
        case GLFW_KEY_DELETE:
            return "delete";
        case GLFW_KEY_BACKSPACE:
            return "backspace";
        case GLFW_KEY_ESCAPE:
            return "escape";
        case GLFW_KEY_KP_ADD:
            return "+";
        case GLFW_KEY_KP_SUBTRACT:
            return "-";
        default:
            break;
    }
    if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F12) return "f" + std::to_string(key - GLFW_KEY_F1 + 1);
    if (key >= GLFW_KEY_0 && key <= GLFW_KEY_9) return {static_cast<char>('0' + key - GLFW_KEY_0)};
    // By the letter on the key, not by its place: Z is elsewhere on some keyboards.
    const char* name = glfwGetKeyName(key, scancode);
    if (name != nullptr && name[0] > ' ' && name[1] == 0)
        return {static_cast<char>(name[0] >= 'A' && name[0] <= 'Z' ? name[0] - 'A' + 'a' : name[0])};
    return {};
}

void on_key(GLFWwindow* window, int key, int scancode, int action, int modifiers) {
    stir(window);
    auto* input = static_cast<Input*>(glfwGetWindowUserPointer(window));
    if (input != nullptr && action == GLFW_PRESS && key >= 0) input->pressed.push_back(key);
    std::string name = key_name(key, scancode);
    if (input == nullptr || name.empty()) return;
    bool shift = (modifiers & GLFW_MOD_SHIFT) != 0;
    if (shift && name == "=") {
        name = "+";
        shift = false;
    }
    std::string chord;
    if ((modifiers & GLFW_MOD_CONTROL) != 0) chord += "ctrl+";
    if ((modifiers & GLFW_MOD_ALT) != 0) chord += "alt+";
    if (shift) chord += "shift+";
    input->keys.push_back({chord + name, action == GLFW_RELEASE});
}

void on_drop(GLFWwindow* window, int count, const char** paths) {
    auto* input = static_cast<Input*>(glfwGetWindowUserPointer(window));
    stir(window);
    for (int i = 0; input != nullptr && i < count; ++i) input->dropped.emplace_back(paths[i]);
}

bool is_arrow(const std::string& chord) {
    for (const char* arrow : {"left", "right", "up", "down"}) {
        if (chord.ends_with(arrow)) return true;
    }
    return false;
}

// --- window and frame ----------------------------------------------------------------------------------------------------------------------

Error no_window(const std::string& cause) {
    return Error{.fault = Fault::window_unavailable,
                 .file = {},
                 .place = {},
                 .cause = cause,
                 .remedy =
                     "start it on a desktop, or under `xvfb-run -a` for screenshots, or use the commands that need no window: `swatchwright --help`, "
                     "`./run --headless`"};
}

std::string last_glfw_error() {
    const char* words = nullptr;
    glfwGetError(&words);
    return words != nullptr ? words : "no reason given";
}

/// GLFW, window, ImGui: made in this order, undone in the other.
class Stage {
public:
    static Result<std::unique_ptr<Stage>> make(const Options& options, Input& input) {
        std::unique_ptr<Stage> stage(new Stage);
        if (glfwInit() == GLFW_FALSE) return no_window("no display can be reached (" + last_glfw_error() + ")");
        stage->glfw_ = true;
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
        glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
        glfwWindowHint(GLFW_VISIBLE, options.screenshot.empty() ? GLFW_TRUE : GLFW_FALSE);
        float scale = options.scale.value_or(0);
        if (scale == 0) {
            float sx = 1, sy = 1;
            if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) glfwGetMonitorContentScale(monitor, &sx, &sy);
            scale = std::clamp(std::max(sx, sy), 1.0F, 3.0F);
        }
        stage->width = options.width.value_or(static_cast<int>(1280 * scale));
        stage->height = options.height.value_or(static_cast<int>(800 * scale));
        if (!options.width) {
            int x = 0, y = 0, w = 0, h = 0;
            if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) glfwGetMonitorWorkarea(monitor, &x, &y, &w, &h);
            if (w > 640 && h > 480) {
                stage->width = std::min(stage->width, w);
                stage->height = std::min(stage->height, h);
            }
        }
        stage->window = glfwCreateWindow(stage->width, stage->height, "Swatchwright", nullptr, nullptr);
        if (stage->window == nullptr) return no_window("no window with OpenGL 3.3 can be opened (" + last_glfw_error() + ")");
        glfwSetWindowSizeLimits(stage->window, 640, 480, GLFW_DONT_CARE, GLFW_DONT_CARE);
        glfwMakeContextCurrent(stage->window);
        glfwSwapInterval(1);
        glfwSetWindowUserPointer(stage->window, &input);
        glfwSetKeyCallback(stage->window, on_key);
        glfwSetDropCallback(stage->window, on_drop);
        // Whatever else may change what is to be seen; ImGui's own callbacks call those that were there before.
        glfwSetCursorPosCallback(stage->window, [](GLFWwindow* w, double, double) { stir(w); });
        glfwSetMouseButtonCallback(stage->window, [](GLFWwindow* w, int, int, int) { stir(w); });
        glfwSetScrollCallback(stage->window, [](GLFWwindow* w, double, double) { stir(w); });
        glfwSetCharCallback(stage->window, [](GLFWwindow* w, unsigned) { stir(w); });
        glfwSetWindowFocusCallback(stage->window, [](GLFWwindow* w, int) { stir(w); });
        glfwSetCursorEnterCallback(stage->window, [](GLFWwindow* w, int) { stir(w); });
        glfwSetWindowRefreshCallback(stage->window, stir);
        glfwSetFramebufferSizeCallback(stage->window, [](GLFWwindow* w, int, int) { stir(w); });
        glfwSetWindowCloseCallback(stage->window, stir);
        IMGUI_CHECKVERSION();
        stage->context_ = ImGui::CreateContext();
        ImGuiIO& io = ImGui::GetIO();
        io.IniFilename = nullptr;
        io.ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
        io.ConfigInputTextCursorBlink = options.screenshot.empty();
        stage->platform_ = ImGui_ImplGlfw_InitForOpenGL(stage->window, true);
        stage->renderer_ = ImGui_ImplOpenGL3_Init("#version 330 core");
        if (!stage->platform_ || !stage->renderer_) return no_window("the panels cannot be drawn with this OpenGL");
        stage->look = make_look(scale, options.letter_gap);
        Result<std::unique_ptr<PictureGl>> picture = PictureGl::make();
        if (!picture) return picture.error();
        stage->picture = std::move(*picture);
        if (!options.screenshot.empty()) stage->make_offscreen();
        stage->warm_up();
        return stage;
    }
    ~Stage() {
        picture.reset();
        display.reset();
        if (framebuffer_ != 0) glDeleteFramebuffers(1, &framebuffer_);
        if (color_ != 0) glDeleteRenderbuffers(1, &color_);
        if (renderer_) ImGui_ImplOpenGL3_Shutdown();
        if (platform_) ImGui_ImplGlfw_Shutdown();
        if (context_ != nullptr) ImGui::DestroyContext(context_);
        if (window != nullptr) glfwDestroyWindow(window);
        if (glfw_) glfwTerminate();
    }
    Stage(const Stage&) = delete;
    Stage& operator=(const Stage&) = delete;

    void begin_frame() const {
        ImGui_ImplOpenGL3_NewFrame();
        ImGui_ImplGlfw_NewFrame();
        if (offscreen()) {
            ImGui::GetIO().DisplaySize = {static_cast<float>(width), static_cast<float>(height)};
            ImGui::GetIO().DisplayFramebufferScale = {1, 1};
        }
    }

    void end_frame(const Desk& desk) {
        ImGui::Render();
        if (!offscreen()) glfwGetFramebufferSize(window, &width, &height);
        if (width < 1 || height < 1) return;
        const bool through = display != nullptr && !offscreen();  // pictures of the window are sRGB
        through ? display->begin(width, height) : glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
        glViewport(0, 0, width, height);
        const float ground = static_cast<float>(gray::picture_ground) / 255.0F;
        glClearColor(ground, ground, ground, 1);
        glClear(GL_COLOR_BUFFER_BIT);
        draw_picture(desk);
        ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
        if (through) display->end(framebuffer_);
    }

    [[nodiscard]] std::vector<std::uint8_t> pixels() const {
        const std::size_t row = 3 * static_cast<std::size_t>(width);
        std::vector<std::uint8_t> upside_down(row * static_cast<std::size_t>(height)), rgb(upside_down.size());
        glPixelStorei(GL_PACK_ALIGNMENT, 1);
        glReadPixels(0, 0, width, height, GL_RGB, GL_UNSIGNED_BYTE, upside_down.data());
        for (std::size_t y = 0; y < static_cast<std::size_t>(height); ++y) {
            std::copy_n(upside_down.begin() + static_cast<std::ptrdiff_t>((static_cast<std::size_t>(height) - 1 - y) * row), row,
                        rgb.begin() + static_cast<std::ptrdiff_t>(y * row));
        }
        return rgb;
    }

    [[nodiscard]] bool offscreen() const { return framebuffer_ != 0; }

    GLFWwindow* window = nullptr;
    Look look;
    std::unique_ptr<PictureGl> picture;
    std::unique_ptr<DisplayGl> display;  // null: sRGB is sent as it is
    int width = 0, height = 0;

private:
    Stage() = default;

    /// OpenGL in software compiles a shader when it is first drawn with: not when the first photo comes, with people waiting.
    void warm_up() const {
        CorrectedPicture gray;
        gray.width = 6;
        gray.height = 5;
        gray.rgb.assign(90, gray::picture_ground);
        picture->show(std::make_shared<const CorrectedPicture>(gray), nullptr, nullptr);
        (void)picture->upload_some();
        picture->draw({0, 0, 6, 5}, {1, {3, 2.5}}, 6, 5, {});
        glFinish();
        picture->show(nullptr, nullptr, nullptr);
    }

    // A framebuffer of our own: what a hidden window holds is not ours to read.
    void make_offscreen() {
        glGenFramebuffers(1, &framebuffer_);
        glGenRenderbuffers(1, &color_);
        glBindRenderbuffer(GL_RENDERBUFFER, color_);
        glRenderbufferStorage(GL_RENDERBUFFER, GL_RGBA8, width, height);
        glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
        glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, color_);
    }

    void draw_picture(const Desk& desk) const {
        const View& view = desk.view;
        if (!view.canvas.visible) return;
        const float ratio = ImGui::GetIO().DisplayFramebufferScale.x;
        const auto scaled = [&](const Rect& r) { return Rect{r.x * ratio, r.y * ratio, r.w * ratio, r.h * ratio}; };
        Camera camera = view.camera;
        camera.zoom *= static_cast<double>(ratio);
        ShadeParameters shade;
        shade.stripes = view.stripes;
        shade.stripe_px = std::round(16 * look.scale * ratio);
        const std::vector<Rect> areas = picture_areas(view.canvas.area, view.mode);
        for (std::size_t i = 0; i < areas.size(); ++i) {
            const Rect area = scaled(areas[i]);
            switch (view.mode) {
                case Mode::original:
                    shade.mode = 0;
                    break;
                case Mode::corrected:
                    shade.mode = 1;
                    break;
                case Mode::split:
                    shade.mode = 2;
                    shade.divider = area.x + area.w * static_cast<float>(view.split);
                    break;
                case Mode::side_by_side:
                    shade.mode = i == 0 ? 0 : 1;
                    break;
            }
            picture->draw(area, camera, width, height, shade);
        }
    }

    bool glfw_ = false, platform_ = false, renderer_ = false;
    ImGuiContext* context_ = nullptr;
    unsigned framebuffer_ = 0, color_ = 0;
};

// --- scripts -------------------------------------------------------------------------------------------------------------------------------

/// Feeds lines one by one; the next only when nothing works in the background and the last one has been drawn.
class Player {
public:
    explicit Player(std::vector<Line> lines) : lines_(std::move(lines)) {}

    struct MouseState {
        float x = -FLT_MAX, y = -FLT_MAX;
        bool down = false;
    };
    [[nodiscard]] bool finished() const { return next_ >= lines_.size() && mouse_.empty() && expected_ == Expected::none; }
    [[nodiscard]] const std::optional<Error>& failure() const { return failure_; }

    void step(Desk& desk, const Look& look) {
        settle(desk);
        if (failure_ || !mouse_.empty() || next_ >= lines_.size()) return;
        const Line& line = lines_[next_++];
        messages_before_ = desk.messages.size();
        expected_ = line.expect_error ? Expected::error : Expected::success;
        if (const auto* command = std::get_if<Command>(&line.what)) {
            Outbox out;
            out.commit(*command);
            (void)deliver(desk, out);
            return;
        }
        const ViewCommand& command = std::get<ViewCommand>(line.what);
        if (run(desk, command)) return;
        if (const auto* key = std::get_if<PressKey>(&command)) {
            press(desk, key->chord, ImGui::GetIO().WantTextInput);
            release_arrows(desk);
        } else if (const auto* click = std::get_if<Click>(&command)) {
            const float x = static_cast<float>(click->at.x) * look.scale, y = static_cast<float>(click->at.y) * look.scale;
            mouse_ = {{x, y, false}, {x, y, false}, {x, y, true}, {x, y, true}, {x, y, false}, {x, y, false}};
        } else if (const auto* drag = std::get_if<DragBox>(&command)) {
            const Rect area = picture_areas(desk.view.canvas.area, desk.view.mode)[0];
            const Point from = to_screen(desk.view.camera, area, drag->from), to = to_screen(desk.view.camera, area, drag->to);
            const auto at = [&](double share, bool down) {
                return MouseState{static_cast<float>(from.x + share * (to.x - from.x)), static_cast<float>(from.y + share * (to.y - from.y)), down};
            };
            mouse_ = {at(0, false), at(0, false), at(0, true), at(0.5, true), at(1, true), at(1, true)};
        } else if (std::holds_alternative<Release>(command)) {
            mouse_ = {{now_.x, now_.y, false}, {now_.x, now_.y, false}};
        }
    }

    /// The mouse for this frame, moved by hand: ImGui 1.86 has no event queue.
    void move_mouse() {
        if (!mouse_.empty()) {
            now_ = mouse_.front();
            mouse_.pop_front();
            driven_ = true;
        }
        ImGuiIO& io = ImGui::GetIO();
        if (driven_) {
            io.MousePos = {now_.x, now_.y};
            io.MouseDown[0] = now_.down;
        } else {
            io.MousePos = {-FLT_MAX, -FLT_MAX};
        }
    }

    [[nodiscard]] bool moving() const { return !mouse_.empty(); }

private:
    enum class Expected { none, success, error };

    // Looks at what came of the last line.
    void settle(Desk& desk) {
        if (expected_ == Expected::none || failure_) return;
        const bool complained = desk.messages.size() > messages_before_;
        std::optional<Error> error = complained ? std::optional<Error>(desk.messages.back().error) : std::nullopt;
        const Results& results = desk.results();
        for (const std::optional<Error>& other : {results.photo_error, results.calibration_error, results.match_error}) {
            if (!error && other) error = other;
        }
        const std::string line = "line " + to_text(lines_[next_ - 1]);
        if (expected_ == Expected::success && error) {
            failure_ = error;
        } else if (expected_ == Expected::error && !error) {
            failure_ = Error{.fault = Fault::bad_usage,
                             .file = {},
                             .place = line,
                             .cause = "an error was expected and did not come",
                             .remedy = "take expect-error away"};
        }
        expected_ = Expected::none;
    }

    std::vector<Line> lines_;
    std::size_t next_ = 0, messages_before_ = 0;
    Expected expected_ = Expected::none;
    std::optional<Error> failure_;
    std::deque<MouseState> mouse_;
    MouseState now_;
    bool driven_ = false;
};

Result<std::vector<Line>> script_lines(const Options& options) {
    std::vector<Line> lines;
    if (options.script.empty()) return lines;
    std::ifstream in(options.script, std::ios::binary);
    if (!in)
        return Error{
            .fault = Fault::file_missing, .file = options.script, .place = {}, .cause = "cannot be read", .remedy = "check the path of the script"};
    const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    return parse_script(text, options.script);
}

// --- the loop ------------------------------------------------------------------------------------------------------------------------------

void handle_keys(Desk& desk, Input& input) {
    const bool editing = ImGui::GetIO().WantTextInput;
    const bool popup = ImGui::IsPopupOpen("", ImGuiPopupFlags_AnyPopupId | ImGuiPopupFlags_AnyPopupLevel);
    for (const KeyEvent& key : std::exchange(input.keys, {})) {
        if (is_arrow(key.chord) && (key.released || !desk.view.picture_focused)) {
            if (key.released) release_arrows(desk);
            continue;
        }
        if (key.released || (popup && key.chord == "escape")) continue;
        press(desk, key.chord, editing);
    }
    for (const std::string& path : std::exchange(input.dropped, {})) desk.commit(OpenPhoto{path});
}

constexpr const char* kShownAsSrgb = "Shown as sRGB: no monitor profile";

/// Makes the table of view.display; what is shown from here on, in words. What cannot be used is complained of, and sRGB stays.
std::string show_through(std::unique_ptr<DisplayGl>& display, Desk& desk) {
    display.reset();
    const std::string& wanted = desk.view.display;
    if (wanted == "none") return kShownAsSrgb;
    std::optional<Result<DisplayTable>> table;
    if (wanted != "desktop") {
        table = display_table_of(wanted);
    } else if (const std::vector<std::uint8_t> profile = desktop_profile(); !profile.empty()) {
        table = display_table(profile, "the desktop's monitor profile");
    }
    if (!table) return kShownAsSrgb;
    if (!*table) {
        desk.complain(table->error());
        return kShownAsSrgb;
    }
    Result<std::unique_ptr<DisplayGl>> made = DisplayGl::make(**table);
    if (!made) {
        desk.complain(made.error());
        return kShownAsSrgb;
    }
    display = std::move(*made);
    return "Shown through the monitor's profile: " + (*table)->name;
}

std::optional<Fault> show(const Options& options, std::ostream& err) {
    Result<std::vector<Line>> lines = script_lines(options);
    if (!lines) {
        err << "swatchwright: " << describe(lines.error()) << "\n";
        return lines.error().fault;
    }
    const bool scripted = !options.script.empty() || !options.screenshot.empty();

    Input input;
    Result<std::unique_ptr<Stage>> made = Stage::make(options, input);
    if (!made) {
        err << "swatchwright: " << describe(made.error()) << "\n";
        return made.error().fault;
    }
    Stage& stage = **made;
    const std::filesystem::path settings_file = settings_path();
    std::error_code ignored;
    const bool first_start = !std::filesystem::exists(settings_file, ignored);
    Settings settings = load_settings(settings_file);

    std::string photo = options.photo, demo = options.demo;
    if (photo.empty() && demo.empty() && first_start && !scripted) demo = find_demo_folder().string();
    if (photo.empty() && !demo.empty()) photo = (std::filesystem::path(demo) / "bench_led_chart.jpg").string();

    const std::filesystem::path session_file = state_folder() / "session.script", fault_file = state_folder() / "fault.txt";
    std::vector<Line> session;
    if (!scripted && photo.empty()) session = load_session(session_file);

    Desk desk(glfwPostEmptyEvent);
    if (!scripted) {
        if (const auto report = take_fault_report(fault_file))
            desk.complain({Fault::internal, report->string(), "",
                           "the program ended by itself the last time; this report tells where, and nothing of your work",
                           "all that was kept is in the workbook; send the report to those who mend the program if it happens again"});
        report_faults_into(fault_file);
    }
    // A script must not change the user's own workbook unless it is named.
    if (!options.workbook.empty() || !scripted)
        desk.open_workbook(options.workbook.empty() ? default_workbook_path() : std::filesystem::path(options.workbook));
    desk.view.hint = !scripted && !demo.empty() && !settings.hint_done;
    desk.view.focus_column = 1;
    const bool had_targets = !desk.shelf().targets.empty();

    std::vector<Line> todo;
    if (!photo.empty()) todo.push_back({Command(OpenPhoto{photo}), false});
    if (!options.lit_by.empty()) todo.push_back({Command(SetLitBy{options.lit_by}), false});
    todo.insert(todo.end(), lines->begin(), lines->end());
    todo.insert(todo.end(), session.begin(), session.end());
    Player player(std::move(todo));

    desk.view.bright = settings.bright && !scripted;
    desk.view.display = scripted ? "none" : settings.display;
    Settings kept_settings = settings;
    const auto keep_settings = [&] {
        settings.bright = desk.view.bright;
        settings.display = desk.view.display;
        if (scripted || settings == kept_settings) return;
        kept_settings = settings;
        if (!save_settings(settings_file, settings))
            desk.complain(Error{.fault = Fault::file_missing,
                                .file = settings_file.string(),
                                .place = {},
                                .cause = "the settings cannot be written",
                                .remedy = "check the permissions of its folder; all else works"});
    };

    const std::filesystem::path recent_file = state_folder() / "recent";
    if (!scripted) desk.recent = load_recent(recent_file);
    std::vector<std::string> kept_recent = desk.recent;
    const auto keep_recent = [&] {
        if (scripted || desk.recent == kept_recent) return;
        std::string text;
        for (const std::string& path : desk.recent) text += path + "\n";
        if (save_text(recent_file, text)) kept_recent = desk.recent;
    };
    SmallPictures small_pictures;
    const SmallTexture texture = [&](const std::shared_ptr<const Preview>& preview) { return small_pictures.texture(preview); };

    Timings timings;
    bool bright = false;
    std::string display, shown_as = kShownAsSrgb;
    std::vector<std::string> profiles;
    bool profiles_known = scripted;
    std::jthread formats;
    std::string kept_session;
    const auto keep_session = [&] {
        std::string now = session_script(desk.work(), desk.view);
        if (scripted || now == kept_session) return;
        if (save_text(session_file, now)) kept_session = std::move(now);
    };

    int settle = 3, quiet_frames = 0;
    bool begun = false;  // the first line has nothing to wait for
    while (glfwWindowShouldClose(stage.window) == GLFW_FALSE) {
        const bool playing = !player.finished() && !player.failure();
        if (settle > 0 || player.moving()) {
            glfwPollEvents();
        } else if (playing || desk.working() || !options.screenshot.empty()) {
            glfwWaitEventsTimeout(scripted ? 0.005 : 0.03);
        } else {
            const bool typing = ImGui::GetIO().WantTextInput;  // the caret blinks
            input.stirred = false;
            glfwWaitEventsTimeout(typing ? 0.4 : 1.0);
            // only another program's change in the workbook is worth a frame now, or something that was started and has ended
            if (!input.stirred && !typing && !desk.pump() && !desk.working()) continue;
            settle = input.stirred ? 4 : 1;  // what an event does may take some frames to show
        }
        const auto frame_start = std::chrono::steady_clock::now();
        const bool was_working = desk.working();
        const Camera camera_before = desk.view.camera;
        if (desk.pump()) settle = 3;
        stage.picture->show(desk.results().original, desk.results().overview, desk.results().corrected);
        const bool uploading = stage.picture->upload_some();
        if (uploading) settle = 3;
        const bool still = !desk.working() && !uploading && !player.moving();
        quiet_frames = still ? quiet_frames + 1 : 0;
        if (playing && (quiet_frames > 2 || !begun)) {
            begun = true;
            player.step(desk, stage.look);
            quiet_frames = 0;
            settle = 3;
        }

        if (display != desk.view.display) {
            display = desk.view.display;
            shown_as = show_through(stage.display, desk);
        }
        if (bright != desk.view.bright) {
            bright = desk.view.bright;
            dress(stage.look.scale, bright ? Theme::light : Theme::dark);
        }
        stage.begin_frame();
        if (scripted) player.move_mouse();
        // A key that was pressed and let go between two frames counts in this one: ImGui 1.86 looks at what is down, and would miss it.
        std::vector<int> quick;
        for (const int key : std::exchange(input.pressed, {})) {
            bool& down = ImGui::GetIO().KeysDown[key];
            if (!down) quick.push_back(key);
            down = true;
        }
        ImGui::NewFrame();
        for (const int key : quick) ImGui::GetIO().KeysDown[key] = false;
        handle_keys(desk, input);
        Outbox out;
        draw_panels(scene_of(desk, stage.look, texture, shown_as, profiles), desk.view, out, ImGui::GetIO().DisplaySize.x,
                    ImGui::GetIO().DisplaySize.y);
        if (deliver(desk, out)) settle = 3;
        if ((player.finished() || player.failure()) && settle <= 1) keep_session();  // once what the user did has been drawn
        if (out.hint_done || (desk.view.hint && !had_targets && !desk.shelf().targets.empty())) {
            desk.view.hint = false;
            settings.hint_done = true;
        }
        keep_settings();
        keep_recent();
        stage.end_frame(desk);
        if (!options.timings.empty()) {
            glFinish();
            const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - frame_start;
            const Camera& camera = desk.view.camera;
            const bool moved =
                camera.zoom != camera_before.zoom || camera.center.x != camera_before.center.x || camera.center.y != camera_before.center.y;
            timings.frame(took.count(), was_working, moved);
            if (desk.results().original) timings.photo_shown();  // its overview, which is as sharp as this size can show it
        }
        if (player.failure() && scripted) {
            err << "swatchwright: " << (options.script.empty() ? "" : options.script + ": ") << describe(*player.failure()) << "\n";
            return player.failure()->fault;
        }
        if (!options.screenshot.empty() && player.finished() && quiet_frames > 3) {
            const Result<Done> written = write_png(options.screenshot, stage.width, stage.height, stage.pixels());
            if (!written) err << "swatchwright: " << describe(written.error()) << "\n";
            if (!written) return written.error().fault;
            if (!options.timings.empty() && !save_text(options.timings, timings.json())) {
                err << "swatchwright: " << options.timings << " cannot be written\n";
                return Fault::file_unwritable;
            }
            return std::nullopt;
        }
        if (!stage.offscreen()) glfwSwapBuffers(stage.window);
        if (settle > 0) --settle;
        if (!formats.joinable()) formats = std::jthread(load_picture_formats);  // after the first frame: nobody waits for it
        if (!profiles_known) {
            profiles = known_profiles();
            profiles_known = true;
        }
    }
    return std::nullopt;
}

}  // namespace
}  // namespace sw::window

namespace sw {

std::optional<Fault> run_window(const std::vector<std::string>& arguments, std::ostream& err) {
    if (std::find_if(arguments.begin(), arguments.end(), [](const std::string& word) { return word == "--help" || word == "-h"; }) !=
        arguments.end()) {
        std::cout << window::window_help();
        return std::nullopt;
    }
    const Result<window::Options> options = window::parse_options(arguments);
    if (!options) {
        err << "swatchwright: " << describe(options.error()) << "\n";
        return options.error().fault;
    }
    try {
        return window::show(*options, err);
    } catch (const std::exception& e) {
        err << "swatchwright: something went wrong inside the program: " << e.what() << "; what was kept in the workbook is safe\n";
        return Fault::internal;
    }
}

}  // namespace sw
