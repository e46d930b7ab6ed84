// The picture on the GPU: tiles of original and corrected, drawn under the panels. Needs a current OpenGL 3.3 context.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <vector>

#include "photo/preview.hpp"
#include "viewer/shade.hpp"
#include "viewer/state.hpp"

namespace sw::window {

class PictureGl {
public:
    /// Errors: window_unavailable when the shader cannot be built.
    [[nodiscard]] static Result<std::unique_ptr<PictureGl>> make();
    ~PictureGl();
    PictureGl(const PictureGl&) = delete;
    PictureGl& operator=(const PictureGl&) = delete;

    /// Gives it the pictures to show (null: none); overview: a small one of the original, shown until that is uploaded. Same pointers again cost
    /// nothing.
    void show(std::shared_ptr<const CorrectedPicture> original, std::shared_ptr<const Preview> overview,
              std::shared_ptr<const CorrectedPicture> corrected);
    /// Uploads tiles for some milliseconds; true if more is left.
    bool upload_some();
    /// Draws into an area of the bound framebuffer (pixels from the top left); what is not uploaded yet is left out.
    void draw(const Rect& area, const Camera& camera, int framebuffer_width, int framebuffer_height, const ShadeParameters& parameters) const;
    [[nodiscard]] bool has_corrected() const { return corrected_ != nullptr; }

private:
    PictureGl() = default;
    struct Tile {
        int x = 0, y = 0, w = 0, h = 0;
        unsigned original = 0, corrected = 0;  // 0: not uploaded
    };
    void drop(bool corrected_only);
    [[nodiscard]] int uniform(const char* name) const;

    unsigned program_ = 0, vertices_ = 0;
    int largest_ = 2048;
    std::shared_ptr<const CorrectedPicture> original_, corrected_;
    std::vector<Tile> tiles_;
    Tile overview_;
};

/// Small pictures as textures for ImGui. Needs a current context until it is gone.
class SmallPictures {
public:
    SmallPictures() = default;
    ~SmallPictures();
    SmallPictures(const SmallPictures&) = delete;
    SmallPictures& operator=(const SmallPictures&) = delete;
    /// Null without pixels. When there are many, those that were not asked for lately go.
    [[nodiscard]] void* texture(const std::shared_ptr<const Preview>&);

private:
    struct Kept {
        std::weak_ptr<const Preview> of;  // another one may come to lie in the same place
        unsigned texture = 0;
        std::uint64_t asked = 0;
    };
    std::map<const Preview*, Kept> kept_;
    std::uint64_t asked_ = 0;
};

}  // namespace sw::window
