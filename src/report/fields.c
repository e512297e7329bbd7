/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/fields.h"

#define REQUIRED true

#define F(key, type, of, member)                                                                   \
    {                                                                                              \
        key, FIELD_##type, offsetof(struct of, member), 0, false                                   \
    }
#define R(key, type, of, member)                                                                   \
    {                                                                                              \
        key, FIELD_##type, offsetof(struct of, member), 0, REQUIRED                                \
    }
#define U(of)                                                                                      \
    {                                                                                              \
        "unit", FIELD_UNIT, offsetof(struct of, unit), offsetof(struct of, dimension), false       \
    }
#define TABLE(name, of)                                                                            \
    const struct field_table fields_##name = {name##_list, PL_COUNT(name##_list), sizeof(struct of)}

static const struct field bound_list[] = {
    F("because", TEXT, bound, because),     F("criterion", TEXT, bound, criterion),
    R("grade", BOUND_GRADE, bound, grade),  F("high", NUMBER, bound, high),
    F("low", NUMBER, bound, low),           F("model", TEXT, bound, model),
    F("rows", SIZE, bound, rows),           R("setting", TEXT, bound, setting),
    R("side", BOUND_SIDE, bound, side),     F("study", TEXT, bound, study),
    R("unit", DIMENSION, bound, dimension), R("value", NUMBER, bound, value),
    R("verdict", VERDICT, bound, verdict),
};
TABLE(bound, bound);

static const struct field column_list[] = {
    F("digits", INT, data_column, digits),
    R("text", BOOL, data_column, is_text),
    F("title", TEXT, data_column, title),
    U(data_column),
};
TABLE(column, data_column);

static const struct field condition_list[] = {
    F("block", INT, condition, block),
    F("file", FILE, condition, file),
    F("first_line", LONG, condition, first_line),
    F("fitted", NUMBER, condition, fitted),
    F("fitted_high", NUMBER, condition, fitted_high),
    F("fitted_low", NUMBER, condition, fitted_low),
    F("left_out", TEXT, condition, left_out),
    F("mean", NUMBER, condition, mean),
    F("n", SIZE, condition, n),
    F("sd", NUMBER, condition, sd),
    F("series", TEXT, condition, series),
    R("setting", NUMBER, condition, setting),
    F("setting_unit", DIMENSION, condition, setting_dimension),
    F("unit", DIMENSION, condition, dimension),
};
TABLE(condition, condition);

static const struct field criterion_list[] = {
    F("because", TEXT, criterion, because),
    F("high", NUMBER, criterion, high),
    F("level", NUMBER, criterion, level),
    F("limit", NUMBER, criterion, limit),
    F("limit_wording", TEXT, criterion, limit_wording),
    F("low", NUMBER, criterion, low),
    R("name", TEXT, criterion, name),
    F("origin", ORIGIN, criterion, origin),
    F("own_verdict", BOOL, criterion, own_verdict),
    F("shots_to_decide", INT, criterion, shots_to_decide),
    F("sides", INT, criterion, sides),
    F("title", TEXT, criterion, title),
    F("unit", DIMENSION, criterion, dimension),
    F("value", NUMBER, criterion, value),
    R("verdict", VERDICT, criterion, verdict),
};
TABLE(criterion, criterion);

static const struct field expected_list[] = {
    F("alarm_high", NUMBER, expected_response, alarm_high),
    F("alarm_low", NUMBER, expected_response, alarm_low),
    F("because", TEXT, expected_response, because),
    F("high", NUMBER, expected_response, high),
    F("low", NUMBER, expected_response, low),
    R("name", TEXT, expected_response, name),
    F("title", TEXT, expected_response, title),
    F("unit", DIMENSION, expected_response, dimension),
    F("value", NUMBER, expected_response, value),
};
TABLE(expected, expected_response);

static const struct field fact_list[] = {
    F("given", BOOL, fact, given),
    F("high", NUMBER, fact, high),
    R("key", TEXT, fact, key),
    R("kind", FACT_KIND, fact, kind),
    F("line", LONG, fact, line),
    F("low", NUMBER, fact, low),
    F("origin", ORIGIN, fact, origin),
    F("relative", NUMBER, fact, relative),
    R("section", TEXT, fact, section),
    F("text", TEXT, fact, text),
    F("unit", DIMENSION, fact, dimension),
};
TABLE(fact, fact);

static const struct field file_list[] = {
    F("bytes", SIZE, premises_file, bytes),
    F("decimal", TEXT, premises_file, decimal),
    F("encoding", TEXT, premises_file, encoding),
    R("file", FILE, premises_file, name),
    F("header_line", LONG, premises_file, header_line),
    F("layout", TEXT, premises_file, layout),
    F("rows", SIZE, premises_file, rows_read),
    F("rows_left_out", SIZE, premises_file, rows_left_out),
    F("rows_used", SIZE, premises_file, rows_used),
    F("separator", TEXT, premises_file, separator),
    F("sha256", TEXT, premises_file, sha256),
    F("study", TEXT, premises_file, study),
    F("units", TEXT, premises_file, units),
    F("units_line", LONG, premises_file, units_line),
};
TABLE(file, premises_file);

static const struct field finding_list[] = {
    F("decision", TEXT, finding, decision),
    F("rows_used", SIZE, finding, rows_used),
    R("study", TEXT, finding, study),
    F("title", TEXT, finding, title),
    R("verdict", VERDICT, finding, verdict),
    F("with_excluded", TEXT, finding, with_excluded),
    F("without_odd", TEXT, finding, without_odd),
};
TABLE(finding, finding);

static const struct field flag_list[] = {
    R("code", TEXT, flag, code), F("file", FILE, flag, file), R("grade", FLAG_GRADE, flag, grade),
    F("line", LONG, flag, line), F("text", TEXT, flag, text),
};
TABLE(flag, flag);

static const struct field left_out_list[] = {
    F("by_user", BOOL, row_use, by_user),
    F("file", FILE, row_use, file),
    R("line", LONG, row_use, line),
    F("reason", TEXT, row_use, reason),
};
TABLE(left_out, row_use);

static const struct field model_list[] = {
    F("aicc", NUMBER, model, aicc),
    F("answer", NUMBER, model, answer),
    F("answer_high", NUMBER, model, answer_high),
    F("answer_low", NUMBER, model, answer_low),
    F("chosen", BOOL, model, chosen),
    F("condition_number", NUMBER, model, condition_number),
    F("formula", TEXT, model, formula),
    F("in_play", BOOL, model, in_play),
    F("misfit", NUMBER, model, misfit),
    F("misfit_p", NUMBER, model, misfit_p),
    R("name", TEXT, model, name),
    F("plateau", BOOL, model, plateau),
    F("rank", INT, model, rank),
    F("residual_relative", BOOL, model, residual_relative),
    F("residual_sd", NUMBER, model, residual_sd),
    F("series", TEXT, model, series),
    F("stop", TEXT, model, stop),
    F("tried", BOOL, model, tried),
    F("weight", NUMBER, model, weight),
};
TABLE(model, model);

static const struct field next_shot_list[] = {
    R("at", NUMBER, next_shot, at),
    F("half_width_now", NUMBER, next_shot, half_width_now),
    F("half_width_then", NUMBER, next_shot, half_width_then),
    F("promise", TEXT, next_shot, promise),
    F("series", TEXT, next_shot, series),
    F("setting", TEXT, next_shot, setting),
    R("shots", INT, next_shot, shots),
    F("unit", DIMENSION, next_shot, dimension),
    F("why", TEXT, next_shot, why),
};
TABLE(next_shot, next_shot);

static const struct field no_window_list[] = {
    R("setting", TEXT, no_window, setting),
    F("text", TEXT, no_window, text),
};
TABLE(no_window, no_window);

static const struct field operating_list[] = {
    F("from", TEXT, operating_value, from),
    R("high", NUMBER, operating_value, high),
    R("low", NUMBER, operating_value, low),
    F("unit", DIMENSION, operating_value, dimension),
};
TABLE(operating, operating_value);

static const struct field options_list[] = {
    R("confidence", NUMBER, premises, confidence),
    R("resamples", INT, premises, resamples),
};
TABLE(options, premises);

static const struct field other_answer_list[] = {
    F("decision", TEXT, other_answer, decision),   F("reason", TEXT, other_answer, reason),
    F("rows_used", SIZE, other_answer, rows_used), F("shots", SIZE, other_answer, shots),
    R("title", TEXT, other_answer, title),         R("verdict", VERDICT, other_answer, verdict),
    R("which", OTHER_SHOTS, other_answer, which),
};
TABLE(other_answer, other_answer);

static const struct field quantity_list[] = {
    F("high", NUMBER, quantity, high),
    F("level", NUMBER, quantity, level),
    F("low", NUMBER, quantity, low),
    F("method", TEXT, quantity, method),
    R("name", TEXT, quantity, name),
    F("reason", TEXT, quantity, reason),
    F("sides", INT, quantity, sides),
    F("title", TEXT, quantity, title),
    U(quantity),
    R("value", NUMBER, quantity, value),
};
TABLE(quantity, quantity);

static const struct field repair_list[] = {
    R("code", TEXT, premises_repair, code),
    F("column", TEXT, premises_repair, column),
    F("count", SIZE, premises_repair, count),
    F("text", TEXT, premises_repair, text),
};
TABLE(repair, premises_repair);

static const struct field setting_list[] = {
    R("aim", NUMBER, window_setting, aim),
    F("aim_because", TEXT, window_setting, aim_because),
    F("aim_is_result", BOOL, window_setting, aim_is_result),
    F("because", TEXT, window_setting, because),
    F("by_convention", BOOL, window_setting, by_convention),
    F("decided_by", TEXT, window_setting, decided_by),
    R("high", NUMBER, window_setting, high_value),
    R("low", NUMBER, window_setting, low_value),
    F("margin", NUMBER, window_setting, margin),
    F("running", NUMBER, window_setting, running),
    F("running_verdict", VERDICT, window_setting, running_verdict),
    R("setting", TEXT, window_setting, setting),
    F("title", TEXT, window_setting, title),
    R("unit", DIMENSION, window_setting, dimension),
    R("verdict", VERDICT, window_setting, verdict),
};
TABLE(setting, window_setting);

static const struct field table_list[] = {
    R("name", TEXT, data_table, name),
    F("title", TEXT, data_table, title),
};
TABLE(table, data_table);

const char *const *field_words(enum field_type t)
{
    static const char *const verdicts[] = {"none", "met", "not shown", "not met", NULL};
    static const char *const grades[] = {"note", "doubt", "stop", NULL};
    static const char *const sides[] = {"lower", "upper", NULL};
    static const char *const bounds[] = {"limit", "convention", NULL};
    static const char *const kinds[] = {"text", "quantity", "range", "limits", NULL};
    static const char *const others[] = {"with excluded", "without odd", NULL};
    static const char *const *const words[] = {
        [FIELD_VERDICT] = verdicts,   [FIELD_FLAG_GRADE] = grades, [FIELD_BOUND_SIDE] = sides,
        [FIELD_BOUND_GRADE] = bounds, [FIELD_FACT_KIND] = kinds,   [FIELD_OTHER_SHOTS] = others,
    };
    return (size_t)t < PL_COUNT(words) ? words[t] : NULL;
}

const struct field_origin field_origins[] = {
    {'C', "common practice"},
    {'G', "given"},
    {'O', "our convention"},
    {'S', "standard"},
};
const size_t n_field_origins = PL_COUNT(field_origins);
