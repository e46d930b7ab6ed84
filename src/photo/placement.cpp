#include "photo/placement.hpp"

namespace sw {

Placement placement(int orientation, int stored_width, int stored_height) {
    const std::ptrdiff_t w = stored_width, h = stored_height;
    switch (orientation) {
        case 2:
            return {w - 1, -1, w, stored_width, stored_height};  // mirrored left to right
        case 3:
            return {w * h - 1, -1, -w, stored_width, stored_height};  // half a turn
        case 4:
            return {w * (h - 1), 1, -w, stored_width, stored_height};  // mirrored top to bottom
        case 5:
            return {0, h, 1, stored_height, stored_width};  // transposed
        case 6:
            return {h - 1, h, -1, stored_height, stored_width};  // to be turned clockwise
        case 7:
            return {h * w - 1, -h, -1, stored_height, stored_width};  // transposed over the other diagonal
        case 8:
            return {h * (w - 1), -h, 1, stored_height, stored_width};  // to be turned counterclockwise
        default:
            return {0, 1, w, stored_width, stored_height};
    }
}

}  // namespace sw
