/* calibrate: from the curves of tested coupons to values of a case, and to predictions. */
#include "terminal/cli.h"

void explain_calibrate(FILE *stream)
{
    fprintf(
        stream,
        "  --format json|csv        print calibrate.json or calibrate.csv in place of the table\n");
    explain_store_options(stream, "file");
    fprintf(
        stream,
        "The file (docs/calibrate.md) names the coupons that were pressed on a rig, with their\n"
        "curves (files of the rig as they are, see `strutpress help rig`), and what to fit:\n"
        "  base: foot-soft.yaml\n"
        "  tested:\n"
        "    - {infill.density: 12 %%, curve: rig/squares-12.csv, starts_at: 0.1 mm}\n"
        "    - {infill.density: 20 %%, curve: rig/squares-20.csv}\n"
        "  fit:\n"
        "    material.modulus: {from: 10 MPa, to: 60 MPa}\n"
        "    model.joint_zone: {from: 0, to: 2}\n"
        "  predict:\n"
        "    - {infill.density: 16 %%}\n"
        "  strain: 50 %%\n\n"
        "Each tested coupon is also predicted from a fit to all the others: that says how far\n"
        "predictions of coupons that were not tested may be off. A coupon that is stored is not\n"
        "pressed again: the same command goes on where it was stopped. Prints values, figures\n"
        "and predictions, and writes into the folder calibrated.yaml, a case with the fitted\n"
        "values for `press`, `batch` and `seek`, calibrate.json, calibrate.csv and curves.svg.\n\n"
        "A file with `material:` in the place of `tested:` fits the filament itself to records of\n"
        "time, strain and stress, and writes a filament.yaml for `material.filament`:\n"
        "  loading: compression\n"
        "  material:\n"
        "    - {curve: rig/hold.csv}\n"
        "    - {curve: rig/three-cycles.csv, columns: [1, 4, 5]}\n"
        "    - {set: 18 %%, strain: 25 %%, held: 22 h, free: 30 min}\n");
}

static sp_status show(sp_context *context, const sp_calibration *calibration,
                      sp_record_format format, const char *folder, const char *store)
{
    const int is_table = format == SP_FORMAT_TABLE;
    const sp_status printed = is_table
                                  ? sp_calibration_table(context, calibration, stdout)
                                  : sp_calibration_records(context, calibration, format, stdout);
    sp_status status = make_folder_after(context, printed, folder);
    if (status == SP_OK) status = sp_calibration_write(context, calibration, folder);
    if (status == SP_OK && is_table)
        printf("files: %s/   store: %s\n", shown(folder), shown(store));
    return status;
}

/* Calibrate a material: no coupon is pressed, and there is no store. */
static sp_status fit_material(const store_options *options)
{
    sp_context context = {0};
    sp_material_tests *tests = NULL;
    sp_material *material = NULL;
    char folder[SP_FILE_SIZE];
    choose_folder(options->out, options->file, folder, sizeof folder);
    guard_files(&context);
    sp_status status = sp_material_tests_read(&context, options->file, &tests);
    if (status == SP_OK) status = try_folder(&context, folder, sp_folder_try);
    if (status == SP_OK) {
        start_talk(&context, options->quiet);
        catch_interrupt(&context);
        status = sp_material_fit(&context, tests, &material);
        end_talk(1);
    }
    if (status == SP_OK) status = make_folder(&context, folder);
    if (status == SP_OK) status = sp_material_write(&context, material, folder);
    if (status == SP_OK) status = sp_material_table(&context, material, stdout);
    if (status == SP_OK)
        printf("files: %s/   in a case: material.filament: %s/filament.yaml\n", shown(folder),
               shown(folder));
    if (status != SP_OK) fail_with(&context, status);
    sp_material_free(material);
    sp_material_tests_free(tests);
    return status;
}

static sp_status calibrate(const store_options *options)
{
    sp_context context = {0};
    sp_tested *tested = NULL;
    sp_store *store = NULL;
    sp_calibration *calibration = NULL;
    char file[SP_FILE_SIZE + 16], folder[SP_FILE_SIZE];
    choose_folder(options->out, options->file, folder, sizeof folder);
    guard_files(&context);
    start_talk(&context, options->quiet);
    head_lines("curve");
    sp_status status = sp_tested_read(&context, options->file, &tested);
    head_lines("forecast");
    if (status == SP_OK) status = try_folder(&context, folder, sp_folder_try);
    /* The pictures of what was understood of the curves are written before the fit begins. */
    if (status == SP_OK) status = make_folder(&context, folder);
    if (status == SP_OK) status = sp_tested_draw(&context, tested, folder);
    if (status == SP_OK)
        status = open_new_store(&context, options->file, options->store, file, sizeof file, &store);
    if (status == SP_OK) {
        catch_interrupt(&context);
        status = sp_calibrate(&context, tested, store, options->threads, &calibration);
        end_talk(1); /* no progress line may stand under the table */
    }
    if (status == SP_OK) status = show(&context, calibration, options->format, folder, file);
    if (status != SP_OK) fail_with(&context, status);
    if (calibration) end_talk(options->quiet);
    sp_calibration_free(calibration);
    sp_store_close(store);
    sp_tested_free(tested);
    return status;
}

sp_status command_calibrate(int argc, char **argv)
{
    store_options options;
    int help;
    const sp_status status =
        read_store_options(argc, argv, "file of tested coupons", &options, &help);
    if (status != SP_OK || help) return status;
    if (!sp_material_is_tested(options.file)) return calibrate(&options);
    if (options.format != SP_FORMAT_TABLE)
        return fail_usage(argv[0], "received --format with a file of `material:`; valid: "
                                   "filament.yaml and material.csv are in the folder of --out");
    return fit_material(&options);
}
