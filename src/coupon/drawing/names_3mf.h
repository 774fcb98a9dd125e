/* Namespaces and parts of a 3MF package (ISO/IEC 25422; beam lattice extension 2017/02; ISO/IEC
 * 29500-2). */
#ifndef SP_DRAWING_NAMES_3MF_H
#define SP_DRAWING_NAMES_3MF_H

#define SP_3MF_CORE "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
#define SP_3MF_LATTICE "http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02"
/* A part that this program adds: the lines of a planar coupon beside its triangles, for reading the
 * coupon again. */
#define SP_3MF_LINES "urn:strutpress:lines:1"
#define SP_3MF_MODEL_RELATION "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
#define SP_3MF_MODEL_TYPE "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
#define SP_3MF_MODEL_PART "3D/3dmodel.model"
#define SP_OPC_RELATIONS "http://schemas.openxmlformats.org/package/2006/relationships"
#define SP_OPC_RELATIONS_TYPE "application/vnd.openxmlformats-package.relationships+xml"
#define SP_OPC_TYPES "http://schemas.openxmlformats.org/package/2006/content-types"

#endif
