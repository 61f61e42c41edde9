;;; emacs.el --- Drives Emacs -*- lexical-binding: t; -*-

;; emacs -Q --batch -l emacs.el, in the folder of the editors, with the program on the path.

(require 'cl-lib)
(require 'eglot)
(require 'flymake)
(add-to-list 'load-path (expand-file-name "emacs"))
(require 'clutch-mode)

(defun test-check (ok what &optional seen)
  (unless ok
    (message "emacs: %s; seen: %S" what seen)
    (kill-emacs 1)))

(defmacro test-wait (what condition)
  "Wait until CONDITION holds, and give its value."
  `(let ((until (+ (float-time) 20)) (value nil))
     (while (not (or (setq value ,condition) (> (float-time) until)))
       (accept-process-output nil 0.01))
     (test-check value (concat "waited in vain for " ,what))
     value))

(defun test-go (text)
  "Go to where TEXT begins."
  (goto-char (point-min))
  (search-forward text)
  (goto-char (match-beginning 0)))

(defun test-face (text)
  (test-go text)
  (get-text-property (point) 'face))

(setq eglot-sync-connect 20
      eglot-autoshutdown nil
      eglot-events-buffer-config '(:size 0 :format short)
      make-backup-files nil
      auto-save-default nil
      create-lockfiles nil)

(find-file "tests/desk.clutch")
(test-check (eq major-mode 'clutch-mode) "the mode" major-mode)

;; Highlighting and indentation.
(font-lock-ensure)
(pcase-dolist (`(,text ,face)
               '(("# What" font-lock-comment-delimiter-face)
                 ("system desk" font-lock-keyword-face)
                 ("desk \"" font-lock-function-name-face)
                 ("\"Gr" font-lock-string-face)
                 ("from larkfield {" font-lock-keyword-face)
                 ("slave hy_s25" font-lock-type-face)
                 ("hy_s25" font-lock-constant-face)
                 ("pedal {" font-lock-type-face)
                 ("travel=" font-lock-variable-name-face)
                 ("150 mm" font-lock-number-face)))
  (test-check (eq (test-face text) face) (concat "how " text " is highlighted") (test-face text)))
(test-go "    pedal {")
(delete-horizontal-space)
(indent-according-to-mode)
(test-check (= (current-indentation) 4) "the indentation" (current-indentation))
(set-buffer-modified-p nil)

;; The finding stands below the part, whatever comes before it on the line.
(flymake-mode 1)
(apply #'eglot (eglot--guess-contact))
(flymake-start)
(defun test-findings ()
  (cl-remove-if-not (lambda (found) (string-match-p "short-release\\|short of the 7.2 mm" (flymake-diagnostic-text found)))
                    (flymake-diagnostics)))
(let ((found (car (test-wait "the finding" (test-findings)))))
  (test-go "hy_s25")
  (test-check (equal (list (flymake-diagnostic-beg found) (flymake-diagnostic-end found))
                     (list (point) (+ (point) 6)))
              "the finding's place"
              (buffer-substring (flymake-diagnostic-beg found) (flymake-diagnostic-end found))))

;; Hover.
(let ((shown nil))
  (eglot-hover-eldoc-function (lambda (text &rest _) (setq shown text)))
  (test-wait "the hover" shown)
  (test-check (string-match-p "hy_s25" shown) "the hover speaks of the part" shown))

;; Inlay hints. In batch mode no window asks for them.
(eglot-inlay-hints-mode 1)
(eglot--update-hints-1 (point-min) (point-max))
(defun test-hints (text)
  "What is shown behind the line with TEXT."
  (test-go text)
  (mapconcat (lambda (overlay)
               (if (overlay-get overlay 'eglot--inlay-hint) (overlay-get overlay 'after-string) ""))
             (overlays-in (point) (line-end-position))
             ";"))
(test-wait "the inlay hint" (string-match-p "margin [-−]0.33 mm" (test-hints "system desk")))

;; A cure, applied.
(test-go "hy_s25")
(let* ((actions (eglot-code-actions (point) (+ (point) 6)))
       (cure (cl-find-if (lambda (action) (string-prefix-p "use a 15/16 in slave" (plist-get action :title)))
                         actions)))
  (test-check cure "the cure is offered" actions)
  (eglot-execute (eglot-current-server) cure))
(test-go "system desk")
(test-check (string-suffix-p "{ slave hy_s25 { bore = 15/16 in } }"
                             (buffer-substring (point) (line-end-position)))
            "the cure is applied" (buffer-substring (point) (line-end-position)))
(eglot--signal-textDocument/didChange)
(test-wait "the finding to go" (null (test-findings)))

;; Completion, accepted.
(defun test-write (text)
  "Put TEXT behind the pedal's travel."
  (goto-char (point-min))
  (re-search-forward "travel=150 mm\\(\n.*return_for.*\\)?")
  (replace-match (concat "travel=150 mm\n" text) t t)
  (eglot--signal-textDocument/didChange))
(test-write "return_for")
(completion-at-point)
(let ((line (buffer-substring-no-properties (line-beginning-position) (line-end-position))))
  (test-check (string-match-p "return_force\\( = \\)?$" line) "the completion is put in" line))

;; Formatting.
(test-write "return_force=12 N")
(let ((wanted (let ((text (buffer-string)))
                (with-temp-buffer
                  (insert text)
                  (call-process-region (point-min) (point-max) "bitepoint" t t nil "fmt" "-")
                  (buffer-string)))))
  (test-check (not (equal wanted (buffer-string))) "there is something to format")
  (eglot-format-buffer)
  (test-check (equal wanted (buffer-substring-no-properties (point-min) (point-max)))
              "the formatting" (buffer-string)))
(set-buffer-modified-p nil)
(eglot-shutdown (eglot-current-server))
(message "emacs: seen")
