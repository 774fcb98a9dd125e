# exit 0
# stdout ^yes$
# no stderr

# What libraries tell of conversions of their own goes to the program, not to the C library (printf_tables.c); LD_DEBUG says so.
LD_DEBUG=bindings LD_DEBUG_OUTPUT=bindings strutpress --version > version
grep -h 'register_printf_type' bindings.* > taken
grep -q 'to [^ ]*libc[.]so' taken && echo no || echo yes
