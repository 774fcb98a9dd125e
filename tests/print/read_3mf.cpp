/* Reads 3MF files with the reference library of the 3MF consortium in strict mode: read_3mf FILE... For each: triangles, beams,
 * warnings and the volume that the triangles enclose. Exit status 1 when a file is refused, warned of, or not closed. */
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <Model/COM/NMR_DLLInterfaces.h>

using namespace NMR;

#define TRY(call)                                                                                  \
    do {                                                                                           \
        if ((call) != LIB3MF_OK) {                                                                 \
            std::printf("%s: refused in %s\n", file, #call);                                       \
            return 1;                                                                              \
        }                                                                                          \
    } while (0)

static int read_object(const char *file, PLib3MFModelMeshObject *object)
{
    DWORD nodes, triangles, beams;
    BOOL closed;
    TRY(lib3mf_meshobject_getvertexcount(object, &nodes));
    TRY(lib3mf_meshobject_gettrianglecount(object, &triangles));
    TRY(lib3mf_meshobject_getbeamcount(object, &beams));
    TRY(lib3mf_meshobject_ismanifoldandoriented(object, &closed));
    std::vector<MODELMESHVERTEX> vertex(nodes);
    for (DWORD i = 0; i < nodes; i++) TRY(lib3mf_meshobject_getvertex(object, i, &vertex[i]));
    double six = 0;
    for (DWORD t = 0; t < triangles; t++) {
        MODELMESHTRIANGLE triangle;
        TRY(lib3mf_meshobject_gettriangle(object, t, &triangle));
        const float *a = vertex[triangle.m_nIndices[0]].m_fPosition;
        const float *b = vertex[triangle.m_nIndices[1]].m_fPosition;
        const float *c = vertex[triangle.m_nIndices[2]].m_fPosition;
        six += double(a[0]) * (double(b[1]) * c[2] - double(b[2]) * c[1]) -
               double(a[1]) * (double(b[0]) * c[2] - double(b[2]) * c[0]) +
               double(a[2]) * (double(b[0]) * c[1] - double(b[1]) * c[0]);
    }
    std::printf("%s: %u triangles, %u beams, %s, %.6g mm3\n", file, triangles, beams,
                closed ? "closed and oriented" : "NOT closed", six / 6);
    return !closed;
}

static int read_file(const char *file)
{
    PLib3MFModel *model;
    PLib3MFModelReader *reader;
    PLib3MFModelResourceIterator *objects;
    DWORD warnings;
    BOOL more;
    int failed = 0, count = 0;
    TRY(lib3mf_createmodel(&model));
    TRY(lib3mf_model_queryreader(model, "3mf", &reader));
    TRY(lib3mf_reader_setstrictmodeactive(reader, true));
    TRY(lib3mf_reader_readfromfileutf8(reader, file));
    TRY(lib3mf_reader_getwarningcount(reader, &warnings));
    TRY(lib3mf_model_getmeshobjects(model, &objects));
    while (lib3mf_resourceiterator_movenext(objects, &more) == LIB3MF_OK && more) {
        PLib3MFModelResource *object;
        TRY(lib3mf_resourceiterator_getcurrent(objects, &object));
        failed |= read_object(file, object);
        count++;
    }
    if (warnings || count != 1) std::printf("%s: %u warnings, %d objects\n", file, warnings, count);
    return failed || warnings || count != 1;
}

int main(int argc, char **argv)
{
    int failed = 0;
    for (int i = 1; i < argc; i++) failed |= read_file(argv[i]);
    return failed;
}
