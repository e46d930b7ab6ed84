// Errors as values. A function that can fail for a reason a person can act on returns Result<T>; assert is for our own mistakes.
#pragma once

#include <cassert>
#include <string>
#include <utility>
#include <variant>

namespace sw {

/// Every kind of failure a user can meet. Closed: cli/ maps each to an exit code without a default.
enum class Fault {
    bad_usage,            // an argument cannot be understood
    light_unknown,        // LIGHT string names nothing we know, or asks for what cannot be
    region_malformed,     // REGION string cannot be read
    file_missing,         // no such file, or no permission
    file_unwritable,      // a picture or sheet cannot be written: no permission, no room
    not_a_picture,        // not one of the picture formats we read, or damaged
    picture_unsupported,  // a picture, but of a kind we refuse (CMYK, too large, several images ...)
    profile_broken,       // embedded ICC profile cannot be used
    table_malformed,      // CSV of a spectrum or light cannot be used
    region_outside,       // reaches beyond the picture
    region_too_small,     // holds too few pixels to measure
    gray_unusable,        // gray card clipped, black, or its LRV impossible
    known_unusable,       // known chip's Lab impossible, or chip clipped or black
    flat_unusable,        // the picture of a plain board is not plain, clipped, dark or of another size
    setup_mismatch,       // a photo was not taken as the set-up was, or a set-up has nothing to borrow
    chart_not_found,      // no chart in the picture, or the corners do not fit
    color_unknown,        // tones were changed from place to place: a color by itself cannot be told from this picture
    workbook_unreadable,  // missing, damaged, not a workbook
    workbook_locked,      // another process writes to it
    workbook_newer,       // made by a newer version
    workbook_write,       // disk full, read-only, no folder
    name_unknown,         // no target, card or set-up of that name
    name_taken,           // one of that name exists
    window_unavailable,   // no display or no OpenGL 3.3
    cancelled,            // by the user
    internal,             // our mistake
};

/// What went wrong, where, why, and what to do. Any of the texts may be empty; the remedy should not be.
struct [[nodiscard]] Error {
    Fault fault = Fault::internal;
    std::string file;    // file name as the user gave it
    std::string place;   // region, line, option: where in the file
    std::string cause;   // what is wrong, in plain words
    std::string remedy;  // what to do about it
};

/// One line: "bench.jpg: swatch 3900,20,200,200: reaches 100 px past the right edge; move it left or make it smaller"
inline std::string describe(const Error& error) {
    std::string text;
    for (const std::string* part : {&error.file, &error.place}) {
        if (!part->empty()) text += *part + ": ";
    }
    text += error.cause;
    if (!error.remedy.empty()) text += (error.cause.empty() ? "" : "; ") + error.remedy;
    return text;
}

/// A T or an Error. Test with operator bool before use.
template <class T>
class [[nodiscard]] Result {
public:
    Result(T value) : content_(std::in_place_index<0>, std::move(value)) {}      // NOLINT(google-explicit-constructor)
    Result(Error error) : content_(std::in_place_index<1>, std::move(error)) {}  // NOLINT(google-explicit-constructor)

    explicit operator bool() const { return content_.index() == 0; }
    T& operator*() & { return value(); }
    const T& operator*() const& { return value(); }
    T&& operator*() && { return std::move(value()); }
    T* operator->() { return &value(); }
    const T* operator->() const { return &value(); }
    T& value() {
        assert(content_.index() == 0);
        return *std::get_if<0>(&content_);
    }
    const T& value() const {
        assert(content_.index() == 0);
        return *std::get_if<0>(&content_);
    }
    const Error& error() const {
        assert(content_.index() == 1);
        return *std::get_if<1>(&content_);
    }

private:
    std::variant<T, Error> content_;
};

/// For functions that return nothing but may fail.
struct Done {};

}  // namespace sw
