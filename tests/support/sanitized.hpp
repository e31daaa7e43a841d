// Whether a sanitizer looks at every access: what takes a minute then takes twenty.
#pragma once

namespace standfast::test {

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)  // gcc's word for it
inline constexpr bool is_sanitized = true;
#elif defined(__has_feature)  // clang's
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
inline constexpr bool is_sanitized = true;
#else
inline constexpr bool is_sanitized = false;
#endif
#else
inline constexpr bool is_sanitized = false;
#endif

}  // namespace standfast::test
