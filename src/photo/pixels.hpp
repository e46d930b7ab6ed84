// Room for a picture's pixels.
#pragma once

#include <cstddef>
#include <new>
#include <utility>
#include <vector>

namespace sw {

/// Large blocks lie on huge pages where the system has them. Throws std::bad_alloc.
[[nodiscard]] void* room_for_pixels(std::size_t bytes);
void give_back(void* block, std::size_t bytes);

/// For vectors of hundreds of megabytes that are written once: on huge pages (a page fault for each 4 kB costs as much as decoding), and resize()
/// leaves new elements as they are instead of writing zeros first.
template <class T>
struct PixelAllocator {
    using value_type = T;
    PixelAllocator() = default;
    template <class U>
    PixelAllocator(const PixelAllocator<U>&) {}  // NOLINT(google-explicit-constructor): as the standard asks

    T* allocate(std::size_t n) { return static_cast<T*>(room_for_pixels(n * sizeof(T))); }
    void deallocate(T* block, std::size_t n) { give_back(block, n * sizeof(T)); }
    template <class U>
    void construct(U* at) {
        ::new (static_cast<void*>(at)) U;
    }
    template <class U, class... A>
    void construct(U* at, A&&... arguments) {
        ::new (static_cast<void*>(at)) U(std::forward<A>(arguments)...);
    }
    friend bool operator==(const PixelAllocator&, const PixelAllocator&) { return true; }
};

/// As std::vector, but resize() does not clear.
template <class T>
using Pixels = std::vector<T, PixelAllocator<T>>;

}  // namespace sw
