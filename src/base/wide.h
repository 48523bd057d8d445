/* wide.h - functions that are compiled twice, the second time for the wide registers of newer
 * processors; which one runs is chosen when the program starts. Both do the same operations in the
 * same order, and no fused ones: the same bytes on either. */
#ifndef UL_BASE_WIDE_H
#define UL_BASE_WIDE_H

/* Not under a sanitizer: the choice is made before its own start. */
#if defined(__x86_64__) && defined(__gnu_linux__) && defined(__GLIBC__) && defined(__GNUC__) &&    \
    !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define UL_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define UL_WIDE
#endif

#endif
