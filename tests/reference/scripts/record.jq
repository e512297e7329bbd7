# The numbers of record.json that demo.R computes again: study, kind, name, field, number.
def leaf($study; $kind; $name; $field): [$study, $kind, $name, $field, .] | @tsv;
.studies[] | .study as $s
| (.quantities[] | .name as $n | to_entries[] | select(.key | IN("value", "low", "high"))
   | select(.value != null) | .key as $k | .value | leaf($s; "quantity"; $n; $k)),
  (.criteria[] | .name as $n | to_entries[] | select(.key | IN("value", "low", "high", "limit", "verdict"))
   | select(.value != null) | .key as $k | .value | leaf($s; "criterion"; $n; $k)),
  (.models[] | .name as $n
   | (to_entries[] | select(.key | IN("aicc", "residual_sd", "misfit_p", "answer", "answer_low", "answer_high"))
      | select(.value != null) | .key as $k | .value | leaf($s; "model"; $n; $k)),
     (.parameters | to_entries[] | .key as $k | .value | leaf($s; "model"; $n; "value." + $k)),
     (.covariance | to_entries[] | .key as $k | .value[$k] | leaf($s; "model"; $n; "variance." + $k)))
