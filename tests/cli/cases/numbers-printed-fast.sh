# exit 0
# stdout ^yes$
# no stderr
# Nothing but the program may take what libraries tell of conversions of their own (printf_tables.c); LD_DEBUG says who does.
LD_DEBUG=bindings LD_DEBUG_OUTPUT=bindings strutpress --version > version
grep -h 'register_printf_type' bindings.* > taken
grep -qv 'to [^ ]*strutpress ' taken && echo no || echo yes
