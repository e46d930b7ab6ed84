// Room for a picture's pixels.
#pragma once

#include <sys/mman.h>

#include <cstddef>
#include <cstdlib>
#include <new>
#include <utility>
#include <vector>

namespace sw {

/// For vectors of hundreds of megabytes that are written once: large blocks lie on huge pages where the system has them (a page fault for each
/// 4 kB costs as much as decoding), and resize() leaves new elements as they are instead of writing zeros first.
template <class T>
struct PixelAllocator {
    using value_type = T;
    PixelAllocator() = default;
    template <class U>
    PixelAllocator(const PixelAllocator<U>&) {}  // NOLINT(google-explicit-constructor): as the standard asks

    T* allocate(std::size_t n) {
        constexpr std::size_t huge = std::size_t{1} << 21;
        const std::size_t bytes = n * sizeof(T);
        if (bytes < 2 * huge) return static_cast<T*>(::operator new(bytes));
        void* block = std::aligned_alloc(huge, (bytes + huge - 1) / huge * huge);
        if (block == nullptr) throw std::bad_alloc();
        static_cast<void>(::madvise(block, bytes, MADV_HUGEPAGE));  // advice: without it all is as before
        return static_cast<T*>(block);
    }
    void deallocate(T* block, std::size_t n) {
        if (n * sizeof(T) < std::size_t{1} << 22)
            ::operator delete(block);
        else
            std::free(block);
    }
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
