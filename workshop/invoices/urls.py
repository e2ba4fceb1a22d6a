from django.urls import path

from workshop.invoices import views

app_name = "invoices"
urlpatterns = [
    path("", views.list, name="list"),
    path("owed/", views.owed, name="owed"),
    path("accounts/<uuid:uid>/", views.account, name="account"),
    path("accounts/<uuid:uid>/take/", views.take, name="take"),
    path("accounts/<uuid:uid>/use-credit/", views.use_credit, name="use_credit"),
    path("accounts/<uuid:uid>/give-back/", views.give_back, name="give_back"),
    path("accounts/<uuid:uid>/remind/", views.remind, name="remind"),
    path("accounts/<uuid:uid>.pdf", views.statement, name="statement"),
    path("new/<int:pk>/", views.invoice_new, name="invoice_new"),
    path("<uuid:uid>/", views.invoice, name="invoice"),
    path("<uuid:uid>.pdf", views.paper, name="paper"),
    path("<uuid:uid>/pay/", views.pay, name="pay"),
    path("<uuid:uid>/credit/", views.credit, name="credit"),
    path("<uuid:uid>/credit/lines/", views.credit_lines, name="credit_lines"),
]
