/* A file of a page as a text of the program, taken in by the assembler as it stands. */
#ifndef SP_REPORT_PART_H
#define SP_REPORT_PART_H

#define SP_PAGE_PART(symbol, file)                                                                 \
    __asm__(".pushsection .rodata, \"a\"\n" #symbol ":\n.incbin \"" file                           \
            "\"\n.byte 0\n.popsection\n");                                                         \
    extern const char symbol[];

#endif
